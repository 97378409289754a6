package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"dawncrest/ingest"
	"dawncrest/rf"
	"dawncrest/rf/handover"
	"dawncrest/rf/review"
	"dawncrest/rf/series"
	"dawncrest/sampledata"
)

// options are the flags that several commands share.
type options struct {
	plant     string
	reference string
	from, to  string
	zone      string
	format    string
	book      string
	out       string
	rejects   string
	shift     string
	author    string
	notes     []string
	accept    bool
	replace   bool
	tables    string
	initials  string

	reading reading

	ascii   bool
	noColor bool
	light   bool

	follow bool
	every  time.Duration
}

// plantVariable names the environment variable that points to a plant folder.
const plantVariable = "DAWNCREST_PLANT"

func (o *options) addShared(cmd *cobra.Command) {
	f := cmd.Flags()
	f.StringVar(&o.plant, "plant", "", "plant folder (default: plant beside the first log, then $"+plantVariable+")")
	f.StringVar(&o.reference, "reference", "", "what drift is measured from: TIME..TIME, a log, or an entry of a shift book (default: the first settled hour)")
	f.StringVar(&o.from, "from", "", "leave out what is older: a time, RFC 3339 or plant time")
	f.StringVar(&o.to, "to", "", "leave out what is younger")
	f.StringVar(&o.zone, "zone", "", "zone of times that state none (default: the plant's)")
	f.StringVar(&o.rejects, "rejects", "", "write refused rows to this file")
	o.reading.add(cmd)
}

func (o *options) addOut(cmd *cobra.Command) {
	cmd.Flags().StringVar(&o.out, "out", "", "write to this file instead of standard output")
}

func (o *options) addScreen(cmd *cobra.Command) {
	f := cmd.Flags()
	f.BoolVar(&o.ascii, "ascii", false, "draw with ASCII letters only")
	f.BoolVar(&o.noColor, "no-color", false, "no colour (also: NO_COLOR)")
	f.StringVar(&o.initials, "initials", "", "of who sits before the screen, for marks and the handover")
	f.BoolVar(&o.light, "light", false, "colours for a light ground")
}

func (o *options) addBook(cmd *cobra.Command, help string) {
	cmd.Flags().StringVar(&o.book, "book", "", help)
}

// openBook opens the shift book that --book names; nil where none is named.
func (o *options) openBook() (*handover.Book, error) {
	if o.book == "" {
		return nil, nil
	}
	return handover.OpenBook(o.book)
}

// night is a log that was opened together with its plant.
type night struct {
	title  string
	demo   bool
	paths  []string
	plant  *rf.Plant
	inputs []ingest.Input
	lost   []series.File // named but not readable
	rules  []ingest.ColumnRule
	notice string         // what a reader should know of how it was opened
	book   *handover.Book // nil: none named
	parts  *ingest.Parts  // nil: nothing is to be read again
}

// open finds the plant and the logs that the arguments name; without any it is
// the demo night.
func (o *options) open(args []string, stdin io.Reader) (*night, error) {
	if len(args) == 0 {
		return o.openDemo()
	}
	limits, err := o.reading.raised()
	if err != nil {
		return nil, err
	}
	inputs, lost, err := ingest.Inputs(args, stdin, limits)
	if err != nil {
		return nil, err
	}
	n := &night{title: titleOf(args), paths: args, inputs: inputs, lost: lost}
	if n.book, err = o.openBook(); err != nil {
		return nil, err
	}
	dir := o.plantDir(args)
	if dir == "" {
		n.notice = "no plant folder: readings, drifts, gaps and trips only. One would add energy, causes and retune advice (dawncrest plant --new DIR --from LOG)"
		return n, nil
	}
	folder, err := ingest.OpenPlant(dir)
	if err != nil {
		return nil, err
	}
	n.plant, n.rules = folder.Plant, folder.Columns
	return n, nil
}

func (o *options) openDemo() (*night, error) {
	if o.plant != "" {
		return nil, errors.New("--plant without a log: name the log too (the built-in plant belongs to the built-in night)")
	}
	folder, err := ingest.OpenPlantFS(sampledata.PlantFS(), "demo plant")
	if err != nil {
		return nil, err
	}
	book, err := o.openBook()
	if err != nil {
		return nil, err
	}
	return &night{
		title: sampledata.NightName, demo: true, book: book, plant: folder.Plant, rules: folder.Columns,
		inputs: []ingest.Input{ingest.Memory(sampledata.NightName, sampledata.NightGz())},
		notice: "demo data of an invented linac",
	}, nil
}

// plantDir returns the plant folder to use: the one given, one beside the first
// log, the one of the environment; empty where there is none.
func (o *options) plantDir(args []string) string {
	if o.plant != "" {
		return o.plant
	}
	if args[0] != "-" {
		for _, beside := range []string{filepath.Join(args[0], "plant"), filepath.Join(filepath.Dir(args[0]), "plant")} {
			if info, err := os.Stat(beside); err == nil && info.IsDir() {
				return beside
			}
		}
	}
	return os.Getenv(plantVariable)
}

func titleOf(args []string) string {
	title := filepath.Base(args[0])
	if len(args) > 1 {
		title += fmt.Sprintf(" and %d more", len(args)-1)
	}
	return title
}

// readOptions says how the logs of a night are to be read.
func (o *options) readOptions(n *night, progress func(ingest.Progress)) (ingest.Options, error) {
	zone, err := o.location(n)
	if err != nil {
		return ingest.Options{}, err
	}
	from, to, err := o.window(zone)
	if err != nil {
		return ingest.Options{}, err
	}
	read, err := o.reading.options()
	read.Plant, read.Columns, read.From, read.To, read.Zone, read.Progress = n.plant, n.rules, from, to, zone, progress
	read.Parts = n.parts
	return read, err
}

// read reads the logs of a night.
func (o *options) read(ctx context.Context, n *night, progress func(ingest.Progress)) (*series.Night, error) {
	read, err := o.readOptions(n, progress)
	if err != nil {
		return nil, err
	}
	var rejects *os.File
	if o.rejects != "" {
		if rejects, err = os.OpenFile(o.rejects, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666); err != nil {
			return nil, fmt.Errorf("rejects: %w; name a file that does not exist yet", err)
		}
		defer rejects.Close()
		read.RejectsTo = rejects
	}
	data, err := ingest.Read(ctx, n.inputs, read)
	if err != nil {
		return nil, err
	}
	data.Log.Files = append(data.Log.Files, n.lost...)
	if rejects != nil {
		if err := rejects.Close(); err != nil {
			return nil, fmt.Errorf("rejects: %w", err)
		}
	}
	return data, nil
}

// review reads a night and judges it.
func (o *options) review(ctx context.Context, n *night, progress func(ingest.Progress)) (*review.Report, error) {
	data, err := o.read(ctx, n, progress)
	if err != nil {
		return nil, err
	}
	plant := n.plant
	if plant == nil {
		plant = ingest.BarePlant(data)
	}
	judge, err := o.judgeBy(ctx, n, plant, data.Start)
	if err != nil {
		return nil, err
	}
	return n.reviewed(plant, data, judge), nil
}

// reviewed judges a night that was read.
func (n *night) reviewed(plant *rf.Plant, data *series.Night, judge review.Options) *review.Report {
	report := review.Review(plant, data, judge)
	if n.notice != "" {
		report.Notices = append([]string{n.notice}, report.Notices...)
	}
	return report
}

// bookNotices tell what in the shift book is no whole entry.
func (n *night) bookNotices() []string {
	if n.book == nil {
		return nil
	}
	return n.book.Notices
}

// fresh are the findings of a report that the shift book has not told before; all
// of them where there is no book.
func (n *night) fresh(r *review.Report) []review.Finding {
	if n.book == nil {
		return r.Findings
	}
	return newOnes(r, n.book.Since(r))
}

// location is the zone of times that state none.
func (o *options) location(n *night) (*time.Location, error) {
	if o.zone != "" {
		zone, err := time.LoadLocation(o.zone)
		if err != nil {
			return nil, fmt.Errorf("--zone %s: no such zone; write it as Europe/Vienna or UTC", o.zone)
		}
		return zone, nil
	}
	if n.plant != nil {
		return n.plant.Zone, nil
	}
	return nil, nil
}

func (o *options) window(zone *time.Location) (from, to time.Time, err error) {
	if from, err = parseTime("--from", o.from, zone); err != nil {
		return from, to, err
	}
	if to, err = parseTime("--to", o.to, zone); err != nil {
		return from, to, err
	}
	if !from.IsZero() && !to.IsZero() && !from.Before(to) {
		return from, to, fmt.Errorf("--from %s is not before --to %s", o.from, o.to)
	}
	return from, to, nil
}

// parseSpan reads TIME..TIME.
func parseSpan(text string, zone *time.Location) (*series.Span, error) {
	first, last, ok := strings.Cut(text, "..")
	if !ok {
		return nil, fmt.Errorf("--reference %s: write it as TIME..TIME", text)
	}
	from, err := parseTime("--reference", first, zone)
	if err != nil {
		return nil, err
	}
	to, err := parseTime("--reference", last, zone)
	if err != nil {
		return nil, err
	}
	if !from.Before(to) {
		return nil, fmt.Errorf("--reference %s: it ends before it begins", text)
	}
	return &series.Span{From: from, To: to}, nil
}

// parseTime reads a time as people give it to an option; empty is the zero time.
func parseTime(option, text string, zone *time.Location) (time.Time, error) {
	if text == "" {
		return time.Time{}, nil
	}
	if zone == nil {
		zone = time.UTC
	}
	for _, layout := range []string{time.RFC3339, "2006-01-02T15:04:05", "2006-01-02 15:04:05", "2006-01-02T15:04", "2006-01-02 15:04", "2006-01-02"} {
		if t, err := time.ParseInLocation(layout, text, zone); err == nil {
			return t, nil
		}
	}
	return time.Time{}, fmt.Errorf("%s %s: no time; write it as 2026-11-24T03:00 or 2026-11-24T02:00:00Z", option, text)
}
