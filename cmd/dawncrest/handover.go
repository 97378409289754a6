package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"dawncrest/rf/handover"
	"dawncrest/rf/review"
)

// handoverForms are the forms a handover can be written in, the usual one first.
var handoverForms = []string{"md", "html", "text", "json"}

func newHandover() *cobra.Command {
	o := &options{}
	cmd := &cobra.Command{
		Use:   "handover [LOG...]",
		Short: "write the summary for the next shift",
		Long: `handover writes what the next shift must know: energy and margin, what needs
doing, the retune table, what a lost station would mean, what could not be judged.

With --book it is put into the shift book too, and says what is new, what goes on
and what is cleared since the handover before.`,
		RunE: func(cmd *cobra.Command, args []string) error { return runHandover(cmd, o, args) },
	}
	o.addShared(cmd)
	o.addBook(cmd, "shift book to write an entry into")
	f := cmd.Flags()
	f.StringVar(&o.format, "format", handoverForms[0], strings.Join(handoverForms, ", "))
	f.StringVar(&o.author, "by", "", "who hands over")
	f.StringVar(&o.shift, "shift", "", "name of the shift (default: told by the hour)")
	f.StringArrayVar(&o.notes, "note", nil, "a note for the next shift; may be given several times")
	f.BoolVar(&o.accept, "accept", false, "with --book: the levels of this night are good, later ones are measured from them")
	f.BoolVar(&o.replace, "replace", false, "with --book: write the entry of this shift anew")
	f.StringVar(&o.tables, "tables", "", "write the tables as CSV into this folder too")
	o.addOut(cmd)
	return cmd
}

func runHandover(cmd *cobra.Command, o *options, args []string) error {
	if !slices.Contains(handoverForms, o.format) {
		return fmt.Errorf("--format %s: a handover is written as %s", o.format, strings.Join(handoverForms, ", "))
	}
	if o.book == "" && (o.accept || o.replace) {
		return errors.New("--accept and --replace go with --book")
	}
	if err := o.writable(); err != nil {
		return err
	}
	n, err := o.open(args, cmd.InOrStdin())
	if err != nil {
		return err
	}
	report, err := o.review(cmd.Context(), n, nil)
	if err != nil {
		return err
	}
	meta, history := o.meta(n, handover.Meta{}), n.book.Since(report)
	// The text first: it is not lost where the book cannot be written.
	err = o.emit(cmd, func(w io.Writer) error { return writeForm(w, o.format, report, meta, history) })
	if n.book != nil {
		name, failed := n.book.Write(report, meta, history, o.replace)
		if failed == nil {
			fmt.Fprintf(cmd.ErrOrStderr(), "dawncrest: wrote entry %s into %s\n", name, o.book)
		}
		err = errors.Join(err, failed)
	}
	if o.tables != "" {
		err = errors.Join(err, handover.WriteTables(o.tables, report, false))
	}
	return err
}

func writeForm(w io.Writer, form string, r *review.Report, m handover.Meta, h handover.History) error {
	switch form {
	case "json":
		return handover.JSON(w, r)
	case "html":
		return handover.HTML(w, r, m, h)
	case "text":
		return handover.Text(w, r, m, h)
	}
	return handover.Markdown(w, r, m, h)
}

// meta fills in what only the command knows: hour, version, who.
func (o *options) meta(n *night, m handover.Meta) handover.Meta {
	m.Written, m.Version, m.Demo, m.Accepted = time.Now(), version(), n.demo, o.accept
	if o.author != "" {
		m.Author = o.author
	}
	if o.shift != "" {
		m.Shift = o.shift
	}
	m.Notes = append(slices.Clone(o.notes), m.Notes...)
	return m
}

// preview is the handover as the screens show it before it is written.
func (o *options) preview(n *night, r *review.Report, m handover.Meta) string {
	var b strings.Builder
	if err := handover.Text(&b, r, o.meta(n, m), n.book.Since(r)); err != nil {
		return err.Error()
	}
	return b.String()
}

// writeFromScreen writes a handover into the shift book, or without one into the
// working folder under a name of its own, and returns where.
func (o *options) writeFromScreen(n *night, form string, r *review.Report, m handover.Meta) (string, error) {
	m = o.meta(n, m)
	history := n.book.Since(r)
	if n.book != nil {
		name, err := n.book.Write(r, m, history, false)
		return filepath.Join(o.book, name), err
	}
	var b strings.Builder
	if err := writeForm(&b, form, r, m, history); err != nil {
		return "", err
	}
	ending := form
	if form == "text" {
		ending = "txt"
	}
	stem := "handover-" + m.Written.In(r.Plant.Zone).Format("2006-01-02-1504")
	for try := 1; ; try++ {
		name := stem + "." + ending
		if try > 1 {
			name = fmt.Sprintf("%s-%d.%s", stem, try, ending)
		}
		err := handover.WriteFile(name, []byte(b.String()), false)
		if !errors.Is(err, fs.ErrExist) || try == 100 {
			return name, err
		}
	}
}
