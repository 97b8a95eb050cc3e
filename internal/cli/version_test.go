package cli

import (
	"runtime/debug"
	"testing"
)

func TestRevision(t *testing.T) {
	build := func(version string, pairs ...string) *debug.BuildInfo {
		b := &debug.BuildInfo{Main: debug.Module{Version: version}}
		for i := 0; i < len(pairs); i += 2 {
			b.Settings = append(b.Settings, debug.BuildSetting{Key: pairs[i], Value: pairs[i+1]})
		}
		return b
	}
	for _, c := range []struct {
		b    *debug.BuildInfo
		want string
	}{
		{build("v1.2.3", "vcs.revision", "abc"), "v1.2.3"},
		{build("(devel)", "vcs.revision", "abc"), "abc"},
		{build("", "vcs.revision", "abc", "vcs.modified", "true"), "abc with changes"},
		{build(""), "(built from no known revision)"},
	} {
		if got := revision(c.b); got != c.want {
			t.Errorf("revision %q, want %q", got, c.want)
		}
	}
}
