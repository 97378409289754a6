package main

import (
	"fmt"
	"runtime/debug"
	"strings"

	"github.com/spf13/cobra"
)

func newVersion() *cobra.Command {
	return &cobra.Command{
		Use:   "version",
		Short: "which dawncrest this is, as its build recorded it",
		Args:  cobra.NoArgs,
		Run: func(cmd *cobra.Command, _ []string) {
			fmt.Fprintln(cmd.OutOrStdout(), "dawncrest "+version())
		},
	}
}

// version returns the version that the build recorded, with the revision and the
// toolchain where they are known.
func version() string {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return "(no build information)"
	}
	words := []string{info.Main.Version}
	if info.Main.Version == "" {
		words[0] = "(devel)"
	}
	settings := map[string]string{}
	for _, s := range info.Settings {
		settings[s.Key] = s.Value
	}
	if revision := settings["vcs.revision"]; revision != "" && !strings.Contains(words[0], revision[:min(12, len(revision))]) {
		words = append(words, revision[:min(12, len(revision))])
	}
	if settings["vcs.modified"] == "true" && !strings.HasSuffix(words[0], "dirty") {
		words = append(words, "modified")
	}
	return strings.Join(append(words, info.GoVersion, settings["GOOS"]+"/"+settings["GOARCH"]), " ")
}
