package rig

import (
	"fmt"
	"os"
	"path/filepath"
	"strconv"

	"golang.org/x/sys/unix"
)

// A Pty is a pseudo serial port: what is written to it comes out at the port named by Place.
type Pty struct {
	link   string
	master int      // file descriptor; −1: unplugged
	slave  *os.File // held, so that what is written waits for a reader
}

// NewPty is a port that can be opened at link, a symbolic link that is made when the rig is plugged in.
func NewPty(link string) *Pty { return &Pty{link: link, master: -1} }

// Place is the link.
func (p *Pty) Place() string { return p.link }

// Plug opens a new pair and points the link at it.
func (p *Pty) Plug() error {
	if p.master >= 0 {
		return nil
	}
	fd, err := unix.Open("/dev/ptmx", unix.O_RDWR|unix.O_NOCTTY|unix.O_CLOEXEC|unix.O_NONBLOCK, 0)
	if err != nil {
		return fmt.Errorf("pseudo serial port: %w", err)
	}
	name, slave, err := slaveOf(fd)
	if err == nil {
		err = relink(name, p.link)
	}
	if err != nil {
		if slave != nil {
			_ = slave.Close()
		}
		_ = unix.Close(fd)
		return fmt.Errorf("pseudo serial port: %w", err)
	}
	p.master, p.slave = fd, slave
	return nil
}

// slaveOf unlocks the far end of a pair, opens it and makes it carry bytes as they are.
func slaveOf(fd int) (string, *os.File, error) {
	if err := unix.IoctlSetPointerInt(fd, unix.TIOCSPTLCK, 0); err != nil {
		return "", nil, err
	}
	n, err := unix.IoctlGetInt(fd, unix.TIOCGPTN)
	if err != nil {
		return "", nil, err
	}
	name := "/dev/pts/" + strconv.Itoa(n)
	slave, err := os.OpenFile(name, os.O_RDWR|unix.O_NOCTTY, 0)
	if err != nil {
		return "", nil, err
	}
	t, err := unix.IoctlGetTermios(int(slave.Fd()), unix.TCGETS)
	if err != nil {
		return name, slave, err
	}
	t.Iflag, t.Oflag, t.Lflag = 0, 0, 0
	t.Cc[unix.VMIN], t.Cc[unix.VTIME] = 1, 0
	return name, slave, unix.IoctlSetTermios(int(slave.Fd()), unix.TCSETS, t)
}

// relink points link at name. It replaces a link, never a file.
func relink(name, link string) error {
	if st, err := os.Lstat(link); err == nil {
		if st.Mode()&os.ModeSymlink == 0 {
			return fmt.Errorf("%s is there already and is no link", link)
		}
		if err := os.Remove(link); err != nil {
			return err
		}
	}
	if err := os.MkdirAll(filepath.Dir(link), 0o755); err != nil {
		return err
	}
	return os.Symlink(name, link)
}

// Unplug closes the pair and takes the link away.
func (p *Pty) Unplug() {
	if p.master < 0 {
		return
	}
	_ = os.Remove(p.link)
	_ = p.slave.Close()
	_ = unix.Close(p.master)
	p.master, p.slave = -1, nil
}

// Put writes a line. When nobody reads and the buffer is full the line is lost, as on a wire.
func (p *Pty) Put(s Sample, garbled bool) {
	line := []byte(Line(s))
	if garbled {
		line = append(line[:len(line)/2], '\n')
	}
	p.Write(line)
}

// Write puts bytes on the wire.
func (p *Pty) Write(b []byte) {
	if p.master < 0 {
		return
	}
	_, _ = unix.Write(p.master, b)
}
