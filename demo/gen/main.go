package main

import (
	"fmt"
	"os"
	"path"
	"path/filepath"

	"runnel/job"
)

func main() {
	if err := run("."); err != nil {
		fmt.Fprintln(os.Stderr, "gen:", err)
		os.Exit(1)
	}
}

// run writes the demo into dir, which is the folder of package demo.
func run(dir string) error {
	if _, err := os.Stat(filepath.Join(dir, "demo.go")); err != nil {
		return fmt.Errorf("run it in the folder of package demo, as go generate does: %w", err)
	}
	files, err := files()
	if err != nil {
		return err
	}
	for _, sub := range []string{"sittings", "traces", "sections", earlierFolder} {
		if err := os.RemoveAll(filepath.Join(dir, sub)); err != nil {
			return err
		}
	}
	for name, data := range files {
		path := filepath.Join(dir, filepath.FromSlash(name))
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			return err
		}
		if err := os.WriteFile(path, data, 0o644); err != nil {
			return err
		}
	}
	return nil
}

const (
	tomlHeader  = "# Invented: no such shop, customer or car exists. Made by demo/gen, a seeded simulation of a bench.\n\n"
	traceHeader = "# Invented: a seeded simulation of a bench, demo/gen.\n"
)

// files returns every file of the demo by name.
func files() (map[string][]byte, error) {
	s, err := simulate()
	if err != nil {
		return nil, err
	}
	before, err := simulateEarlier()
	if err != nil {
		return nil, err
	}
	out := map[string][]byte{"truth.csv": s.truth.Bytes()}
	if err := write(out, "", s.job); err != nil {
		return nil, err
	}
	return out, write(out, earlierFolder, before.job)
}

// write adds the files of a job in a folder.
func write(out map[string][]byte, folder string, j job.Job) error {
	if ps := j.Check(); len(ps) > 0 {
		return ps
	}
	return job.Write(j, func(name string, data []byte) error {
		header := tomlHeader
		switch filepath.Dir(name) {
		case "traces":
			header = traceHeader
		case "sections":
			header = "" // the text has its own
		}
		out[path.Join(folder, name)] = append([]byte(header), data...)
		return nil
	})
}
