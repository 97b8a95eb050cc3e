package cli

import (
	"runtime"
	"runtime/debug"

	"runnel/wave"
)

// version says which build this is: the module's version or the revision it was built from, the platform, and the kernel that steps the pipes.
func version() string {
	name := "(not known)"
	if b, ok := debug.ReadBuildInfo(); ok {
		name = revision(b)
	}
	return name + ", " + runtime.Version() + " " + runtime.GOOS + "/" + runtime.GOARCH + ", kernel " + wave.KernelName()
}

func revision(b *debug.BuildInfo) string {
	if v := b.Main.Version; v != "" && v != "(devel)" {
		return v
	}
	set := map[string]string{}
	for _, s := range b.Settings {
		set[s.Key] = s.Value
	}
	rev := set["vcs.revision"]
	if rev == "" {
		return "(built from no known revision)"
	}
	if set["vcs.modified"] == "true" {
		return rev + " with changes"
	}
	return rev
}
