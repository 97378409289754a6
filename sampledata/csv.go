package sampledata

import (
	"bufio"
	"io"
	"math"
	"strconv"
	"strings"
	"time"
)

// WriteCSV plays a scenario on the machine into a wide CSV with native headers.
func (l *Linac) WriteCSV(s Scenario, w io.Writer) (Truth, error) {
	sheet := &sheet{out: bufio.NewWriterSize(w, 1<<16)}
	truth, err := l.Play(s, sheet)
	if err != nil {
		return Truth{}, err
	}
	return truth, sheet.out.Flush()
}

// sheet is the Sink that writes CSV.
type sheet struct {
	out      *bufio.Writer
	channels []Channel
	row      []byte
}

func (s *sheet) Begin(channels []Channel) error {
	s.channels = channels
	s.out.WriteString("time")
	for _, c := range channels {
		s.out.WriteByte(',')
		s.out.WriteString(c.Header())
	}
	return s.out.WriteByte('\n')
}

func (s *sheet) Row(at time.Time, values []float64, words []string) error {
	row := at.UTC().AppendFormat(s.row[:0], "2006-01-02T15:04:05.999Z07:00")
	for i, c := range s.channels {
		row = append(row, ',')
		switch v := values[i]; {
		case c.Unit == "":
			if words != nil {
				row = append(row, quoted(words[i])...)
			}
		case math.IsNaN(v):
		case c.Decimals < 0:
			row = strconv.AppendFloat(row, v, 'e', 2, 64)
		default:
			row = strconv.AppendFloat(row, v, 'f', c.Decimals, 64)
		}
	}
	s.row = append(row, '\n')
	_, err := s.out.Write(s.row)
	return err
}

// quoted writes a text as RFC 4180 wants it.
func quoted(text string) string {
	if !strings.ContainsAny(text, ",\"\r\n") {
		return text
	}
	return `"` + strings.ReplaceAll(text, `"`, `""`) + `"`
}
