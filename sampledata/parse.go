package sampledata

import (
	"fmt"
	"strconv"
	"strings"
	"time"
)

// ParseFault reads a fault as a person writes it,
//
//	kind[:reading]@place[=size][@hh:mm][/ramp]
//
// for example water_detuning@S06B=0.5@22:30/3h. What is left out takes the
// usual value of its kind.
func ParseFault(text string) (Fault, error) {
	fail := func(format string, args ...any) (Fault, error) {
		return Fault{}, fmt.Errorf("fault %q: %s; write kind@place=size@hh:mm/ramp, as in water_detuning@S06B=0.5@22:30/3h",
			text, fmt.Sprintf(format, args...))
	}
	rest, ramp, hasRamp := strings.Cut(text, "/")
	what, where, ok := strings.Cut(rest, "@")
	if !ok {
		return fail("no @place")
	}
	var f Fault
	f.Kind, f.Quantity, _ = strings.Cut(what, ":")
	kind, ok := faultKind(f.Kind)
	if !ok {
		return fail("no such kind %q; there are %s", f.Kind, kindNames())
	}
	where, clock, hasClock := strings.Cut(where, "@")
	place, size, hasSize := strings.Cut(where, "=")
	f.Place, f.Size, f.Ramp = place, kind.Default, kind.Ramp
	if place == "" {
		return fail("no place; it belongs to a %s", kind.At)
	}
	if hasSize {
		v, err := strconv.ParseFloat(size, 64)
		if err != nil || !(v > -1e6 && v < 1e6) {
			return fail("size %q is no number (in %s)", size, kind.Unit)
		}
		f.Size = v
	}
	if hasRamp {
		v, err := time.ParseDuration(ramp)
		if ramp == "0" {
			v, err = 0, nil
		}
		if err != nil || v < 0 {
			return fail("ramp %q is no length of time like 90m or 3h", ramp)
		}
		f.Ramp = v
	}
	if hasClock {
		if _, err := time.Parse("15:04", clock); err != nil {
			return fail("time %q is not hh:mm", clock)
		}
		f.Clock = clock
	}
	return f, nil
}
