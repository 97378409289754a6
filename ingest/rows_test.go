package ingest

import (
	"bytes"
	"encoding/csv"
	"errors"
	"io"
	"strings"
	"testing"
)

// checkRows fails where a text is cut into other rows and cells than encoding/csv
// cuts it into, up to the first fault that encoding/csv finds; that fault must be
// one here too. The one difference is meant: a quote inside a cell that no quote
// opened is text.
func checkRows(t *testing.T, text string) {
	t.Helper()
	reader := csv.NewReader(strings.NewReader(text))
	reader.FieldsPerRecord = -1
	for at := 0; ; {
		want, err := reader.Read()
		row, state := []byte(nil), rowWhole
		for at < len(text) { // encoding/csv passes over empty lines
			end := 0
			end, state = rowEnd([]byte(text[at:]), ',', true)
			row = []byte(text[at : at+end])
			at += end
			if state != rowWhole || len(bytes.Trim(row, "\r\n")) > 0 {
				break
			}
			row = nil
		}
		var fault *csv.ParseError
		switch {
		case err == io.EOF:
			if row != nil {
				t.Fatalf("row %q where encoding/csv has none", row)
			}
			return
		case errors.As(err, &fault) && errors.Is(err, csv.ErrBareQuote):
			if state == rowWhole && bytes.IndexByte(row, '"') < 0 {
				t.Fatalf("row %q holds no quote: %v", row, err)
			}
			return
		case err != nil:
			if state != rowBadQuote {
				t.Fatalf("row %q is good here: %v", row, err)
			}
			return
		case state != rowWhole:
			t.Fatalf("row %q is bad here, %q for encoding/csv", row, want)
		}
		if row[len(row)-1] != '\n' {
			row = append(row, '\n')
		}
		var got []string
		for _, field := range readFields(row, ',', 1<<20) {
			got = append(got, strings.ReplaceAll(string(field), "\r\n", "\n"))
		}
		if strings.Join(got, "\x00") != strings.Join(want, "\x00") || len(got) != len(want) {
			t.Fatalf("row %q: got %q, encoding/csv %q", row, got, want)
		}
	}
}

var rowSeeds = []string{
	"a,b\n1,2\n", "a,b\r\n1,2\r\n", "\"a\",\"b\"\n", "\"a\"\"b\",c\n", "\"a\nb\",c\n", "\"a\r\nb\",c\r\n", "\"a", "\"a\"b,c\n", "a\"b,c\n", "a,\"b\n1,2\n",
	"\n\n", ",\n,,\n", "\"\"\n", "\"\"", "a,\"\"\"\"\n", "\"a\"\r\n", "\"a\"\rb\n", "a,b", ",\"", "\"\"\"", "\"a,b\",\"c\nd\",e\n\"f",
}

func TestRowsAsEncodingCSVCutsThem(t *testing.T) {
	for _, text := range rowSeeds {
		checkRows(t, text)
	}
}

func FuzzRows(f *testing.F) {
	for _, text := range rowSeeds {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		if strings.Contains(strings.ReplaceAll(text, "\r\n", ""), "\r") || len(text) > 10_000 {
			return // a CR alone is a line end here, turned into LF before rows are cut
		}
		checkRows(t, text)
	})
}

// A row is found to be unfinished where more text could finish it, and cut the
// same in pieces of any size.
func TestRowsInPieces(t *testing.T) {
	text := "time,note\n2026,\"one\r\ntwo\",x\n2027,\"a \"\"b\"\"\"\n2028,c\r\n"
	for size := 1; size < len(text); size++ {
		reader := newBlockReader(iotestReader{strings.NewReader(text), size}, ',', 1<<20)
		var got []byte
		for {
			b, err := reader.next()
			if err == io.EOF {
				break
			}
			if err != nil || b.torn {
				t.Fatal(err, b.torn)
			}
			got = append(got, b.data...)
		}
		if string(got) != text {
			t.Errorf("in pieces of %d: %q", size, got)
		}
	}
}

// iotestReader returns a few bytes at a time.
type iotestReader struct {
	r    io.Reader
	size int
}

func (r iotestReader) Read(p []byte) (int, error) { return r.r.Read(p[:min(r.size, len(p))]) }

// Line ends of every kind become LF, wherever a read happens to end between a CR
// and its LF.
func TestLineEndsInPieces(t *testing.T) {
	text, want := "a\r\nb\rc\n\rd\r\r\ne\r", "a\r\nb\nc\n\nd\n\r\ne\n"
	for size := 1; size < len(text); size++ {
		reader := newBlockReader(iotestReader{strings.NewReader(text), size}, ',', 1<<20)
		b, err := reader.next()
		if err != nil || string(b.data) != want || b.torn {
			t.Errorf("in pieces of %d: %q %v", size, b.data, err)
		}
	}
}
