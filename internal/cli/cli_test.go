package cli_test

import (
	"bytes"
	"context"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"

	"runnel/demo"
	"runnel/internal/cli"
)

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){
		"runnel": func() {
			os.Exit(cli.Run(context.Background(), os.Args[1:], cli.Env{Stdin: os.Stdin, Stdout: os.Stdout, Stderr: os.Stderr}))
		},
	})
}

// TestScripts runs the sessions in testdata/script: commands, input files and what must come out. $DEMO is the demo job as a
// folder, $EXAMPLES the folder of examples. Scripts whose name begins with "long" are left out of short runs.
func TestScripts(t *testing.T) {
	examples, err := filepath.Abs("../../examples")
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	if err := os.CopyFS(dir, demo.FS); err != nil {
		t.Fatal(err)
	}
	scripts, err := fs.Glob(os.DirFS("testdata/script"), "*.txtar")
	if err != nil || len(scripts) == 0 {
		t.Fatalf("no scripts: %v", err)
	}
	var files []string
	for _, s := range scripts {
		if testing.Short() && len(s) > 4 && s[:4] == "long" {
			continue
		}
		files = append(files, filepath.Join("testdata/script", s))
	}
	testscript.Run(t, testscript.Params{
		Files: files,
		Setup: func(env *testscript.Env) error {
			env.Setenv("DEMO", dir)
			env.Setenv("EXAMPLES", examples)
			return nil
		},
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"number": number, "exitcode": exitCode, "same": same,
		},
	})
}

// Long work that is stopped says so in a word, is not called a fault, and has its own exit code.
func TestStopped(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	for _, args := range [][]string{
		{"solve", "../../demo"},
		{"pull", "../../examples/gx160.toml"},
		{"demand", "../../examples/gx160.toml"},
		{"whatif", "../../examples/gx160.toml", "--set", "runner.length=+5%"},
		{"pull", "../../examples/gx160.toml", "--trace", "3000"},
	} {
		var out, errs bytes.Buffer
		code := cli.Run(ctx, args, cli.Env{Stdin: strings.NewReader(""), Stdout: &out, Stderr: &errs})
		if code != 130 || !strings.Contains(errs.String(), "stopped") || strings.Contains(errs.String(), "fault") || out.Len() > 0 {
			t.Errorf("%v: code %d, %q, %q", args, code, errs.String(), out.String())
		}
	}
}
