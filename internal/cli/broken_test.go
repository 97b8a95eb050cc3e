package cli_test

import (
	"bytes"
	"context"
	"errors"
	"os"
	"path/filepath"
	"regexp"
	"testing"

	"runnel/internal/cli"
	"runnel/job"
)

// Every broken job folder of the examples gives exit code 3, names the place, says what to write, and changes nothing on disk.
func TestBrokenFolders(t *testing.T) {
	place := regexp.MustCompile(`[a-z0-9/_-]+\.(toml|csv)(:\d+:\d+)?: `)
	dirs, err := filepath.Glob("../../examples/broken/*")
	if err != nil || len(dirs) < 10 {
		t.Fatalf("%d broken examples: %v", len(dirs), err)
	}
	for _, dir := range dirs {
		if st, err := os.Stat(dir); err != nil || !st.IsDir() {
			continue
		}
		t.Run(filepath.Base(dir), func(t *testing.T) {
			before := listing(t, dir)
			var out, errs bytes.Buffer
			code := cli.Run(context.Background(), []string{"solve", dir, "--json"}, cli.Env{Stdout: &out, Stderr: &errs})
			if code != 3 {
				t.Errorf("exit code %d, wanted 3\n%s%s", code, out.String(), errs.String())
			}
			if !place.MatchString(errs.String()) {
				t.Errorf("no place is named: %s", errs.String())
			}
			if out.Len() > 0 {
				t.Errorf("a number was printed all the same: %s", out.String())
			}
			if after := listing(t, dir); after != before {
				t.Errorf("the folder changed:\n%s\n%s", before, after)
			}
		})
	}
}

func listing(t *testing.T, dir string) string {
	t.Helper()
	b := ""
	err := filepath.WalkDir(dir, func(p string, d os.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		data, err := os.ReadFile(p)
		b += p + string(data)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// Many faults are reported at once.
func TestManyFaultsAtOnce(t *testing.T) {
	var errs bytes.Buffer
	if code := cli.Run(context.Background(), []string{"solve", "../../examples/broken/many"}, cli.Env{Stdout: &errs, Stderr: &errs}); code != 3 {
		t.Errorf("exit code %d", code)
	}
	_, err := job.Load(os.DirFS("../../examples/broken/many"))
	problems, ok := errors.AsType[job.Problems](err)
	if !ok || len(problems) < 3 {
		t.Fatalf("%d problems: %v", len(problems), err)
	}
	for _, p := range problems {
		if !bytes.Contains(errs.Bytes(), []byte(p.Found)) {
			t.Errorf("%q is not reported", p.Found)
		}
	}
}
