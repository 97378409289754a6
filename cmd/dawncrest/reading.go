package main

import (
	"fmt"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"dawncrest/ingest"
)

// reading are the flags that force what the reader else detects, and its limits.
type reading struct {
	separator string
	decimal   string
	date      string
	limits    []string
	force     ingest.Force
	missing   []string
	hold      time.Duration
	cell      time.Duration
}

func (r *reading) add(cmd *cobra.Command) {
	f := cmd.Flags()
	f.StringVar(&r.separator, "separator", "", "what parts the columns: comma, semicolon, tab or pipe (default: detected)")
	f.StringVar(&r.decimal, "decimal", "", "decimal mark: point or comma (default: detected)")
	f.StringVar(&r.force.Encoding, "encoding", "", strings.Join(encodings, ", ")+" (default: detected)")
	f.StringVar(&r.force.Layout, "layout", "", strings.Join(layouts, ", ")+" (default: detected)")
	f.IntVar(&r.force.HeaderLine, "header-line", 0, "line of the header, from 1 (default: detected)")
	f.StringVar(&r.force.TimeForm, "times", "", "form of the times: "+strings.Join(timeForms, ", ")+" (default: detected)")
	f.StringVar(&r.force.DateOrder, "date-order", "", ingest.DayFirst+" or "+ingest.MonthFirst+" (default: as the file proves)")
	f.StringVar(&r.date, "date", "", "date of the first row where rows carry only a time of day: 2026-11-23")
	f.StringVar(&r.force.Sparse, "on-change", "", "yes or no: values are written only when they change (default: detected)")
	f.DurationVar(&r.hold, "hold", 0, "how long a value written on change holds (default 8h)")
	f.StringArrayVar(&r.missing, "missing", nil, "a word or number that stands for no value; may be given several times")
	f.DurationVar(&r.cell, "cell", 0, "width of the cells that a log is reduced to (default: about a minute, wider for longer logs)")
	f.StringArrayVar(&r.limits, "limit", nil, "raise a limit of the reader, as LineBytes=67108864; there are "+strings.Join(limitNames(), ", "))
}

var (
	encodings = []string{ingest.UTF8, ingest.UTF16LE, ingest.UTF16BE, ingest.Latin1}
	layouts   = []string{ingest.LayoutWide, ingest.LayoutTidy, ingest.LayoutLong, ingest.LayoutCells}
	timeForms = []string{ingest.TimeCivil, ingest.TimeEpoch, ingest.TimeDayNumber, ingest.TimeOfDay}
)

// options turns the flags into what the reader takes.
func (r *reading) options() (ingest.Options, error) {
	o := ingest.Options{Force: r.force, MissingWords: r.missing, HoldFor: r.hold, CellWidth: r.cell}
	for _, choice := range []struct {
		flag, value string
		of          []string
	}{
		{"encoding", r.force.Encoding, encodings}, {"layout", r.force.Layout, layouts}, {"times", r.force.TimeForm, timeForms},
		{"date-order", r.force.DateOrder, []string{ingest.DayFirst, ingest.MonthFirst}},
		{"on-change", r.force.Sparse, []string{ingest.SparseYes, ingest.SparseNo}},
	} {
		if err := oneOf(choice.flag, choice.value, choice.of); err != nil {
			return o, err
		}
	}
	var err error
	if o.Force.Separator, err = letter("separator", r.separator, map[string]byte{"comma": ',', "semicolon": ';', "tab": '\t', "pipe": '|'}); err != nil {
		return o, err
	}
	if o.Force.Decimal, err = letter("decimal", r.decimal, map[string]byte{"point": '.', "comma": ','}); err != nil {
		return o, err
	}
	if r.date != "" {
		if o.Force.Date, err = time.Parse(time.DateOnly, r.date); err != nil {
			return o, fmt.Errorf("--date %s: no date; write it as 2026-11-23", r.date)
		}
	}
	o.Limits, err = r.raised()
	return o, err
}

func oneOf(flag, value string, of []string) error {
	if value == "" {
		return nil
	}
	for _, v := range of {
		if v == value {
			return nil
		}
	}
	return fmt.Errorf("--%s %s: must be one of %s", flag, value, strings.Join(of, ", "))
}

// letter returns the letter that a flag names, in words or as it stands.
func letter(flag, value string, names map[string]byte) (byte, error) {
	if value == "" {
		return 0, nil
	}
	words := make([]string, 0, len(names))
	for name, b := range names {
		if value == name || value == string(b) {
			return b, nil
		}
		words = append(words, name)
	}
	return 0, fmt.Errorf("--%s %s: must be one of %s", flag, value, strings.Join(slices.Sorted(slices.Values(words)), ", "))
}

// raised returns the limits with those raised that --limit names.
func (r *reading) raised() (ingest.Limits, error) {
	limits := ingest.DefaultLimits()
	fields := reflect.ValueOf(&limits).Elem()
	for _, text := range r.limits {
		name, value, ok := strings.Cut(text, "=")
		n, err := strconv.Atoi(value)
		field := fields.FieldByName(name)
		if !ok || err != nil || n <= 0 || !field.IsValid() {
			return limits, fmt.Errorf("--limit %s: write NAME=NUMBER with a name of %s", text, strings.Join(limitNames(), ", "))
		}
		field.SetInt(int64(n))
	}
	return limits, nil
}

func limitNames() []string {
	t := reflect.TypeFor[ingest.Limits]()
	names := make([]string, t.NumField())
	for i := range names {
		names[i] = t.Field(i).Name
	}
	return names
}
