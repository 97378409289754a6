package series

import (
	"testing"
	"time"
)

func TestShortSpan(t *testing.T) {
	for _, test := range []struct {
		span time.Duration
		want string
	}{
		{0, "0s"}, {100 * time.Millisecond, "100ms"}, {10 * time.Second, "10s"}, {time.Minute, "1m"}, {90 * time.Second, "1m30s"},
		{time.Hour, "1h"}, {64 * time.Minute, "1h4m"}, {10 * time.Minute, "10m"}, {36 * time.Hour, "36h"}, {time.Hour + time.Second, "1h0m1s"},
	} {
		if got := ShortSpan(test.span); got != test.want {
			t.Errorf("%d: got %q, want %q", test.span, got, test.want)
		}
	}
}
