package test

import (
	"fmt"
	"os"
	"strings"
	"time"
)

// watchPeak follows the most memory in MB that a process held at once, where the
// system tells, until it is told to stop. What wait reports is of no use: it counts
// the process that started it too.
func watchPeak(pid int) (stop func() int) {
	quit, peak := make(chan struct{}), make(chan int)
	go func() {
		most := 0
		for {
			most = max(most, peakMB(pid))
			select {
			case <-quit:
				peak <- most
				return
			case <-time.After(2 * time.Millisecond):
			}
		}
	}()
	return func() int { close(quit); return <-peak }
}

func peakMB(pid int) int {
	text, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", pid))
	if err != nil {
		return 0
	}
	_, value, _ := strings.Cut(string(text), "VmHWM:")
	kilobytes := 0
	fmt.Sscan(value, &kilobytes)
	return kilobytes >> 10
}
