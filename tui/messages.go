package tui

// leftMsg is the person, a signal or a fault ending the screens.
type leftMsg struct{ err error }

// markAskedMsg is a finding that somebody wants to mark as seen.
type markAskedMsg struct{ finding int }

// writtenWords tells what came of writing a handover.
func writtenWords(msg handoverWrittenMsg) string {
	if msg.err != nil {
		return "not written: " + msg.err.Error()
	}
	return "written to " + msg.path
}
