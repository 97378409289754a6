package ingest

import (
	"bufio"
	"context"
	"encoding/csv"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"
	"testing"
	"time"

	"compress/gzip"

	"github.com/gocarina/gocsv"
	"github.com/klauspost/compress/zstd"
)

// The night of the benchmarks: 24 stations with 22 channels each, 12 hours of one
// row per second.
const (
	benchStations = 24
	benchRows     = 43_200
)

// benchChannel is one quantity of the night, with the value it wanders about, how
// far, and the decimals it is written with (-1: with an exponent).
type benchChannel struct {
	quantity string
	about    float64
	by       float64
	decimals int
}

// appendReading writes one reading behind a row.
func (c benchChannel) appendReading(row []byte, random *rand.Rand) []byte {
	v := c.about + c.by*(random.Float64()*2-1)
	if v > 180 && c.quantity == "forward_phase [deg]" {
		v -= 360
	}
	if c.decimals < 0 {
		return strconv.AppendFloat(row, v, 'e', 3, 64)
	}
	return strconv.AppendFloat(row, v, 'f', c.decimals, 64)
}

var benchChannels = []benchChannel{
	{"beam_voltage [kV]", 268.4, 0.3, 4}, {"beam_current [A]", 301.2, 0.5, 4}, {"heater_current [A]", 21.4, 0.01, 4},
	{"drive_power [W]", 312.5, 2, 3}, {"drive_phase [deg]", -41.9, 0.4, 3}, {"forward_power [MW]", 38.2, 0.1, 4},
	{"forward_phase [deg]", 171.3, 9, 3}, {"reflected_power [MW]", 0.412, 0.02, 5}, {"compressed_power [MW]", 148.3, 0.9, 4},
	{"compressor_temperature [degC]", 41.2, 0.05, 3}, {"vacuum_pressure [mbar]", 3.1e-8, 4e-9, -1}, {"pulse_flatness [%]", 0.31, 0.05, 4},
	{"trip_count [1]", 17, 0, 0}, {"rf_on [1]", 1, 0, 0},
}

// benchStructureChannels are logged for the structure behind each station.
var benchStructureChannels = []benchChannel{
	{"input_power [MW]", 61.2, 0.3, 4}, {"input_phase [deg]", 12.1, 0.5, 3}, {"output_power [MW]", 19.4, 0.1, 4},
	{"output_phase [deg]", -97.3, 0.5, 3}, {"water_temperature [degC]", 30.01, 0.04, 3}, {"return_temperature [degC]", 31.92, 0.05, 3},
	{"body_temperature [degC]", 31.1, 0.05, 3}, {"water_flow [L/min]", 58.4, 0.2, 3},
}

// writeNight writes rows of the night in the wide layout.
func writeNight(w io.Writer, rows int) error {
	out := bufio.NewWriterSize(w, 1<<20)
	var channels []benchChannel
	out.WriteString("time")
	for s := range benchStations {
		for _, c := range benchChannels {
			fmt.Fprintf(out, ",S%02d %s", s+1, c.quantity)
		}
		for _, c := range benchStructureChannels {
			fmt.Fprintf(out, ",A%02d %s", s+1, c.quantity)
		}
		channels = append(append(channels, benchChannels...), benchStructureChannels...)
	}
	out.WriteByte('\n')
	random := rand.New(rand.NewPCG(1, 2))
	at := time.Date(2026, 11, 23, 18, 0, 0, 0, time.UTC)
	var row []byte
	for i := range rows {
		row = at.Add(time.Duration(i)*time.Second).AppendFormat(row[:0], time.RFC3339)
		for _, c := range channels {
			row = c.appendReading(append(row, ','), random)
		}
		row = append(row, '\n')
		if _, err := out.Write(row); err != nil {
			return err
		}
	}
	return out.Flush()
}

// benchTidy is one row of the tidy layout, as gocsv reads it.
type benchTidy struct {
	Time                  string  `csv:"time"`
	Place                 string  `csv:"place"`
	BeamVoltage           float64 `csv:"beam_voltage [kV]"`
	BeamCurrent           float64 `csv:"beam_current [A]"`
	DrivePower            float64 `csv:"drive_power [W]"`
	DrivePhase            float64 `csv:"drive_phase [deg]"`
	ForwardPower          float64 `csv:"forward_power [MW]"`
	ForwardPhase          float64 `csv:"forward_phase [deg]"`
	ReflectedPower        float64 `csv:"reflected_power [MW]"`
	CompressedPower       float64 `csv:"compressed_power [MW]"`
	CompressorTemperature float64 `csv:"compressor_temperature [degC]"`
}

// writeTidy writes rows for every station in the tidy layout.
func writeTidy(w io.Writer, rows int) error {
	out := bufio.NewWriterSize(w, 1<<20)
	out.WriteString("time,place,beam_voltage [kV],beam_current [A],drive_power [W],drive_phase [deg],forward_power [MW],forward_phase [deg],reflected_power [MW],compressed_power [MW],compressor_temperature [degC]\n")
	random := rand.New(rand.NewPCG(1, 2))
	at := time.Date(2026, 11, 23, 18, 0, 0, 0, time.UTC)
	for i := range rows {
		for s := range benchStations {
			fmt.Fprintf(out, "%s,S%02d", at.Add(time.Duration(i)*time.Second).Format(time.RFC3339), s+1)
			for _, c := range benchChannels[:11] {
				if c.decimals >= 0 && c.quantity != "heater_current [A]" {
					fmt.Fprintf(out, ",%.*f", c.decimals, c.about+c.by*(random.Float64()*2-1))
				}
			}
			out.WriteByte('\n')
		}
	}
	return out.Flush()
}

// benchFile returns the path of a file written once for all benchmarks of a run.
func benchFile(b *testing.B, name string, write func(io.Writer) error) string {
	b.Helper()
	path := filepath.Join(benchFolder, name)
	if _, err := os.Stat(path); err == nil {
		return path
	}
	f, err := os.Create(path)
	if err != nil {
		b.Fatal(err)
	}
	defer f.Close()
	if err := write(f); err != nil {
		b.Fatal(err)
	}
	return path
}

var benchFolder string

func TestMain(m *testing.M) {
	var err error
	if benchFolder, err = os.MkdirTemp("", "logs"); err != nil {
		panic(err)
	}
	code := m.Run()
	os.RemoveAll(benchFolder)
	os.Exit(code)
}

func nightFile(b *testing.B) string {
	return benchFile(b, "night.csv", func(w io.Writer) error { return writeNight(w, benchRows) })
}

func setBytes(b *testing.B, path string) {
	b.Helper()
	info, err := os.Stat(path)
	if err != nil {
		b.Fatal(err)
	}
	b.SetBytes(info.Size())
	b.ReportAllocs()
	b.ResetTimer()
}

func benchRead(b *testing.B, path string) {
	b.Helper()
	for b.Loop() {
		inputs, _, err := Inputs([]string{path}, nil, Limits{})
		if err != nil {
			b.Fatal(err)
		}
		night, err := Read(context.Background(), inputs, Options{})
		if err != nil {
			b.Fatal(err)
		}
		if f := night.Log.Files[0]; f.RowsKept != benchRows && f.RowsKept != benchRows/10*benchStations || f.RowsRejected != 0 {
			b.Fatalf("%d rows kept, %d refused", f.RowsKept, f.RowsRejected)
		}
	}
}

// BenchmarkNight reads the night into cells, all checks on.
func BenchmarkNight(b *testing.B) {
	path := nightFile(b)
	setBytes(b, path)
	benchRead(b, path)
}

// BenchmarkNightEncodingCSV reads the same file with the standard library and
// keeps count, mean, spread, least and most of every column: the baseline.
func BenchmarkNightEncodingCSV(b *testing.B) {
	path := nightFile(b)
	setBytes(b, path)
	for b.Loop() {
		f, err := os.Open(path)
		if err != nil {
			b.Fatal(err)
		}
		rows := csv.NewReader(bufio.NewReaderSize(f, 1<<20))
		rows.ReuseRecord = true
		header, err := rows.Read()
		if err != nil {
			b.Fatal(err)
		}
		columns := make([]struct{ n, mean, m2, low, high float64 }, len(header))
		for {
			row, err := rows.Read()
			if err == io.EOF {
				break
			}
			if err != nil {
				b.Fatal(err)
			}
			for c := 1; c < len(row); c++ {
				v, err := strconv.ParseFloat(row[c], 64)
				if err != nil {
					b.Fatal(err)
				}
				col := &columns[c]
				col.n++
				d := v - col.mean
				col.mean += d / col.n
				col.m2 += d * (v - col.mean)
				col.low, col.high = math.Min(col.low, v), math.Max(col.high, v)
			}
		}
		f.Close()
	}
}

// BenchmarkTidy reads a tidy log into cells.
func BenchmarkTidy(b *testing.B) {
	path := benchFile(b, "tidy.csv", func(w io.Writer) error { return writeTidy(w, benchRows/10) })
	setBytes(b, path)
	benchRead(b, path)
}

// BenchmarkTidyGocsv reads the same rows into structs.
func BenchmarkTidyGocsv(b *testing.B) {
	path := benchFile(b, "tidy.csv", func(w io.Writer) error { return writeTidy(w, benchRows/10) })
	setBytes(b, path)
	for b.Loop() {
		f, err := os.Open(path)
		if err != nil {
			b.Fatal(err)
		}
		rows := make(chan benchTidy, 64)
		failed := make(chan error, 1)
		go func() { failed <- gocsv.UnmarshalToChan(f, rows) }()
		n := 0
		for range rows {
			n++
		}
		if err := <-failed; err != nil || n != benchRows/10*benchStations {
			b.Fatal(n, err)
		}
		f.Close()
	}
}

func packNight(b *testing.B, name string, packer func(io.Writer) io.WriteCloser) string {
	plain := nightFile(b)
	return benchFile(b, name, func(w io.Writer) error {
		f, err := os.Open(plain)
		if err != nil {
			return err
		}
		defer f.Close()
		z := packer(w)
		if _, err := io.Copy(z, f); err != nil {
			return err
		}
		return z.Close()
	})
}

func gzipNight(b *testing.B) string {
	return packNight(b, "night.csv.gz", func(w io.Writer) io.WriteCloser { z, _ := gzip.NewWriterLevel(w, 1); return z })
}

func zstdNight(b *testing.B) string {
	return packNight(b, "night.csv.zst", func(w io.Writer) io.WriteCloser { z, _ := zstd.NewWriter(w); return z })
}

// BenchmarkNightGzip and BenchmarkUnpackGzip: reading is to be no slower than
// unpacking alone. Bytes are those of the unpacked night.
func BenchmarkNightGzip(b *testing.B) {
	packed := gzipNight(b)
	setBytes(b, nightFile(b))
	benchRead(b, packed)
}

func BenchmarkUnpackGzip(b *testing.B) {
	packed := gzipNight(b)
	setBytes(b, nightFile(b))
	benchUnpack(b, packed, func(r io.Reader) (io.Reader, error) { return gzip.NewReader(r) })
}

func BenchmarkNightZstd(b *testing.B) {
	packed := zstdNight(b)
	setBytes(b, nightFile(b))
	benchRead(b, packed)
}

func BenchmarkUnpackZstd(b *testing.B) {
	packed := zstdNight(b)
	setBytes(b, nightFile(b))
	benchUnpack(b, packed, func(r io.Reader) (io.Reader, error) { return zstd.NewReader(r, zstd.WithDecoderConcurrency(1)) })
}

func benchUnpack(b *testing.B, path string, open func(io.Reader) (io.Reader, error)) {
	for b.Loop() {
		f, err := os.Open(path)
		if err != nil {
			b.Fatal(err)
		}
		r, err := open(bufio.NewReaderSize(f, 64<<10))
		if err != nil {
			b.Fatal(err)
		}
		if _, err := io.Copy(io.Discard, r); err != nil {
			b.Fatal(err)
		}
		f.Close()
	}
}
