package main

import (
	"bytes"
	"fmt"
	"io"
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
		RunE:  func(cmd *cobra.Command, args []string) error { return runHandover(cmd, o, args) },
	}
	o.addShared(cmd)
	f := cmd.Flags()
	f.StringVar(&o.format, "format", "md", strings.Join(handoverForms, ", "))
	f.StringVar(&o.author, "by", "", "who hands over")
	f.StringVar(&o.shift, "shift", "", "name of the shift (default: told by the hour)")
	f.StringArrayVar(&o.notes, "note", nil, "a note for the next shift; may be given several times")
	o.addOut(cmd)
	return cmd
}

func runHandover(cmd *cobra.Command, o *options, args []string) error {
	if !known(o.format) {
		return fmt.Errorf("--format %s: a handover is written as %s", o.format, strings.Join(handoverForms, ", "))
	}
	n, err := o.open(args, cmd.InOrStdin())
	if err != nil {
		return err
	}
	report, err := o.review(cmd.Context(), n, nil)
	if err != nil {
		return err
	}
	out, err := o.output(cmd)
	if err != nil {
		return err
	}
	return out.finish(writeForm(out, o.format, report, o.meta(n, handover.Meta{})))
}

func known(form string) bool {
	for _, f := range handoverForms {
		if f == form {
			return true
		}
	}
	return false
}

func writeForm(w io.Writer, form string, r *review.Report, m handover.Meta) error {
	switch form {
	case "json":
		return handover.JSON(w, r)
	case "html":
		return handover.HTML(w, r, m, handover.History{})
	case "text":
		return handover.Text(w, r, m, handover.History{})
	}
	return handover.Markdown(w, r, m, handover.History{})
}

// meta fills in what only the command knows: hour, version, who.
func (o *options) meta(n *night, m handover.Meta) handover.Meta {
	m.Written, m.Version, m.Demo = time.Now(), version(), n.demo
	if o.author != "" {
		m.Author = o.author
	}
	if o.shift != "" {
		m.Shift = o.shift
	}
	m.Notes = append(append([]string(nil), o.notes...), m.Notes...)
	return m
}

func preview(r *review.Report, m handover.Meta) string {
	var b bytes.Buffer
	if err := handover.Text(&b, r, m, handover.History{}); err != nil {
		return err.Error()
	}
	return b.String()
}

// writeBeside writes a handover into the working folder under a name of its own.
func writeBeside(form string, r *review.Report, m handover.Meta) (string, error) {
	ending := form
	if form == "text" {
		ending = "txt"
	}
	stamp := m.Written.In(r.Plant.Zone).Format("2006-01-02-1504")
	for try := 0; ; try++ {
		name := fmt.Sprintf("handover-%s.%s", stamp, ending)
		if try > 0 {
			name = fmt.Sprintf("handover-%s-%d.%s", stamp, try+1, ending)
		}
		o := options{out: name}
		out, err := o.output(nil)
		if err != nil && try < 100 && exists(name) {
			continue
		}
		if err != nil {
			return "", err
		}
		return name, out.finish(writeForm(out, form, r, m))
	}
}
