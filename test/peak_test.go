package test

import (
	"os"
	"runtime"
	"syscall"
)

// peakMB is the most memory that an ended process held at once; 0 where the
// system does not tell.
func peakMB(p *os.ProcessState) int {
	usage, ok := p.SysUsage().(*syscall.Rusage)
	switch {
	case !ok:
		return 0
	case runtime.GOOS == "darwin": // in bytes there
		return int(usage.Maxrss >> 20)
	}
	return int(usage.Maxrss >> 10)
}
