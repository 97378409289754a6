package series

import (
	"strings"
	"time"
)

// ShortSpan writes a span of time without the zeros that the standard library ends
// it with: 1h4m, 10s, 5m. Fractions of a millisecond are rounded.
func ShortSpan(d time.Duration) string {
	text := d.Round(time.Millisecond).String()
	for _, zero := range []string{"m0s", "h0m"} {
		if strings.HasSuffix(text, zero) {
			text = text[:len(text)-2]
		}
	}
	return text
}
