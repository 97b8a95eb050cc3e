package app

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"runnel/internal/fault"
)

// A Drawer is a folder beside the shop's bench card that keeps checks of one kind: a file each, as the commands read it.
type Drawer string

// The drawers of the shop.
const (
	Calibrations Drawer = "calibrations" // as "runnel calibrate" reads them
	Studies      Drawer = "studies"      // as "runnel study" reads them
	Comparisons  Drawer = "comparisons"  // as "runnel compare-benches" reads them
)

// one is what lies in a drawer.
func (d Drawer) one() string {
	return map[Drawer]string{Calibrations: "calibration", Studies: "study", Comparisons: "comparison"}[d]
}

// awayDir holds, in a drawer, what was put away.
const awayDir = "put-away"

func (a *App) inDrawer(d Drawer, parts ...string) string {
	return filepath.Join(append([]string{a.shop, string(d)}, parts...)...)
}

// checkFiles lists the files of a folder that a check can be read from.
func checkFiles(dir string) ([]string, error) {
	list, err := os.ReadDir(dir)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, fault.As(fault.Invalid, fmt.Errorf("the shop's checks: %w", err))
	}
	var out []string
	for _, e := range list {
		if ext := strings.ToLower(filepath.Ext(e.Name())); e.IsDir() || (ext != ".toml" && ext != ".csv") || strings.HasPrefix(e.Name(), ".") {
			continue
		}
		out = append(out, e.Name())
	}
	return out, nil
}

// checkText reads one file of a drawer.
func (a *App) checkText(d Drawer, name string) (string, error) {
	names, err := checkFiles(a.inDrawer(d))
	if err != nil {
		return "", err
	}
	var data []byte
	there := slices.Contains(names, name)
	if there {
		data, err = os.ReadFile(a.inDrawer(d, name))
	}
	if !there || errors.Is(err, fs.ErrNotExist) {
		return "", fault.Errorf(fault.NotFound, "no %s of the shop is called %q", d.one(), name)
	}
	return string(data), fault.As(fault.Invalid, err)
}

// dayOf is the day a file of a drawer is of: that at the head of its name, else that of its last change.
func (a *App) dayOf(d Drawer, name string) time.Time {
	if at, err := time.Parse(time.DateOnly, name[:min(len(name), len(time.DateOnly))]); err == nil {
		return at
	}
	if about, err := os.Stat(a.inDrawer(d, name)); err == nil {
		return about.ModTime()
	}
	return time.Time{}
}

// keepCheck writes a text into a drawer, under a name that begins with a day, and returns the name. One that is kept already, to the
// letter, is not kept twice; none is ever written over.
func (a *App) keepCheck(d Drawer, day time.Time, title, ext, text string) (string, error) {
	a.shopping.Lock()
	defer a.shopping.Unlock()
	if a.jobsFolder() {
		return "", fault.Errorf(fault.Invalid, "%s holds a job: start Runnel with --shop and a folder of the shop's own", a.shop)
	}
	if err := os.MkdirAll(a.inDrawer(d), 0o755); err != nil {
		return "", fault.As(fault.Invalid, fmt.Errorf("keeping the %s: %w", d.one(), err))
	}
	name, there, err := freeName(a.inDrawer(d), day.Format(time.DateOnly)+"-"+slug(orWord(title, d.one())), ext, text)
	if err != nil || there {
		return name, err
	}
	if err := lasting(a.inDrawer(d, name), []byte(text)); err != nil {
		return "", fault.As(fault.Invalid, fmt.Errorf("keeping the %s: %w", d.one(), err))
	}
	a.log.Info("check kept", "drawer", string(d), "file", name)
	return name, nil
}

// freeName finds a name for a text in a folder: there reports whether a file of that name holds the text already.
func freeName(dir, base, ext, text string) (name string, there bool, err error) {
	for n := 1; ; n++ {
		name := base + ext
		if n > 1 {
			name = fmt.Sprintf("%s-%d%s", base, n, ext)
		}
		was, err := os.ReadFile(filepath.Join(dir, name))
		switch {
		case errors.Is(err, fs.ErrNotExist):
			return name, false, nil
		case err != nil:
			return "", false, fault.As(fault.Invalid, err)
		case string(was) == text:
			return name, true, nil
		}
	}
}

// PutAwayCheck takes a check out of its drawer into the folder of what was put away; BringBackCheck puts it back.
func (a *App) PutAwayCheck(d Drawer, name string) error {
	_, err := a.moveCheck(d, name, "", awayDir)
	return err
}

// BringBackCheck puts a check that was put away back into its drawer, and returns its name there.
func (a *App) BringBackCheck(d Drawer, name string) (string, error) {
	return a.moveCheck(d, name, awayDir, "")
}

// ChecksAway lists what was put away from a drawer.
func (a *App) ChecksAway(d Drawer) ([]string, error) { return checkFiles(a.inDrawer(d, awayDir)) }

// moveCheck moves a file from one folder of a drawer to another, where it may get a number behind its name.
func (a *App) moveCheck(d Drawer, name, from, to string) (string, error) {
	a.shopping.Lock()
	defer a.shopping.Unlock()
	names, err := checkFiles(a.inDrawer(d, from))
	if err != nil {
		return "", err
	}
	if !slices.Contains(names, name) {
		return "", fault.Errorf(fault.NotFound, "no %s of the shop is called %q there", d.one(), name)
	}
	if err := os.MkdirAll(a.inDrawer(d, to), 0o755); err != nil {
		return "", fault.As(fault.Invalid, err)
	}
	data, err := os.ReadFile(a.inDrawer(d, from, name))
	if err != nil {
		return "", fault.As(fault.Invalid, err)
	}
	ext := filepath.Ext(name)
	free, _, err := freeName(a.inDrawer(d, to), strings.TrimSuffix(name, ext), ext, string(data))
	if err != nil {
		return "", err
	}
	if err := os.Rename(a.inDrawer(d, from, name), a.inDrawer(d, to, free)); err != nil {
		return "", fault.As(fault.Invalid, err)
	}
	a.log.Info("check moved", "drawer", string(d), "file", name, "to", free, "put_away", to == awayDir)
	return free, nil
}
