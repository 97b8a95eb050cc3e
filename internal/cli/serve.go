package cli

import (
	"context"
	"errors"
	"fmt"
	"net"
	"net/netip"
	"os"
	"os/exec"
	"os/user"
	"path/filepath"
	"runtime"
	"time"

	"github.com/spf13/cobra"

	"runnel/demo"
	"runnel/internal/app"
	"runnel/internal/fault"
	"runnel/internal/web"
)

func serveCommand(sh *shell) *cobra.Command {
	cmd := &cobra.Command{
		Use:     "serve",
		Short:   "Serve the pages on this machine",
		Example: "  runnel serve --db shop.db",
		Args:    cobra.NoArgs,
	}
	db := cmd.Flags().String("db", "", "file everything is kept in (default: runnel.db in your configuration folder)")
	shop := cmd.Flags().String("shop", "", "folder of the shop, where its bench.toml is (default: the folder of the file)")
	addr := addrFlag(cmd)
	cmd.RunE = func(cmd *cobra.Command, _ []string) error {
		path := *db
		if path == "" {
			dir, err := os.UserConfigDir()
			if err != nil {
				return &usageError{fmt.Errorf("no configuration folder on this machine: name the file with --db: %w", err)}
			}
			path = filepath.Join(dir, "runnel", "runnel.db")
			if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
				return err
			}
		}
		if err := shopFolder(*shop); err != nil {
			return err
		}
		return sh.serve(cmd.Context(), app.Config{Path: path, Shop: *shop}, *addr, nil)
	}
	return cmd
}

func demoCommand(sh *shell) *cobra.Command {
	cmd := &cobra.Command{
		Use:     "demo",
		Short:   "Open the invented demo shop, or compute it once and write its handover",
		Example: "  runnel demo\n  runnel demo --once --out paper",
		Args:    cobra.NoArgs,
	}
	once := cmd.Flags().Bool("once", false, "compute, write the handover into --out and exit")
	out := cmd.Flags().String("out", "", "folder for the handover of --once")
	addr := addrFlag(cmd)
	cmd.RunE = func(cmd *cobra.Command, _ []string) error {
		if *once {
			if *out == "" {
				return &usageError{errors.New("--once needs a folder to write into: add --out DIR")}
			}
			j, err := demo.Job()
			if err != nil {
				return err
			}
			return sh.writeHandover(cmd.Context(), j, *out)
		}
		if *out != "" {
			return &usageError{errors.New("--out goes with --once")}
		}
		dir, err := os.MkdirTemp("", "runnel-demo-")
		if err != nil {
			return err
		}
		defer func() { _ = os.RemoveAll(dir) }()
		return sh.serve(cmd.Context(), app.Config{Path: filepath.Join(dir, "demo.db"), Demo: true}, *addr, func(ctx context.Context, a *app.App) error {
			if _, err := a.ImportFolder(ctx, demo.Earlier()); err != nil {
				return err
			}
			done, err := a.ImportFolder(ctx, demo.FS)
			if err != nil {
				return err
			}
			return a.BeginShopBench(ctx, app.ShopEdit{Why: "the invented shop has the bench of its invented job"}, done.ID)
		})
	}
	return cmd
}

func addrFlag(cmd *cobra.Command) *string {
	return cmd.Flags().String("addr", "127.0.0.1:7117", "address to serve on; loopback only, as there is no sign-in")
}

// shopFolder refuses a folder of the shop that is not there; empty means none was named.
func shopFolder(dir string) error {
	if dir == "" {
		return nil
	}
	st, err := os.Stat(dir)
	if err == nil && !st.IsDir() {
		err = fmt.Errorf("%q is a file", dir)
	}
	if err != nil {
		return &usageError{fmt.Errorf("--shop needs a folder that is there: %w", err)}
	}
	return nil
}

// serve opens the file, lets first fill it, and serves until ctx ends.
func (sh *shell) serve(ctx context.Context, c app.Config, addr string, first func(context.Context, *app.App) error) error {
	ln, err := listen(ctx, addr)
	if err != nil {
		return err
	}
	defer func() { _ = ln.Close() }()
	c.Now, c.Who = time.Now, who() //nolint:forbidigo // the clock enters here
	a, err := app.Open(ctx, c)
	if err != nil {
		return err
	}
	defer func() { _ = a.Close() }()
	if first != nil {
		if err := first(ctx, a); err != nil {
			return err
		}
	}
	h, err := web.New(a, web.Options{LocalPaths: true, Demo: c.Demo})
	if err != nil {
		return err
	}
	url := "http://" + ln.Addr().String() + "/"
	if err := sh.printf("Runnel is open at %s   (Ctrl-C ends it)\n", url); err != nil {
		return err
	}
	sh.openBrowser(ctx, url)
	return web.Serve(ctx, ln, h)
}

// listen binds a loopback address; port 0 takes a free one.
func listen(ctx context.Context, addr string) (net.Listener, error) {
	ap, err := netip.ParseAddrPort(addr)
	if err != nil {
		return nil, &usageError{fmt.Errorf("--addr %q cannot be read: write it like 127.0.0.1:7117", addr)}
	}
	if !ap.Addr().IsLoopback() {
		return nil, &usageError{fmt.Errorf("--addr %s is not loopback: there is no sign-in yet, so write 127.0.0.1:%d", addr, ap.Port())}
	}
	var c net.ListenConfig
	ln, err := c.Listen(ctx, "tcp", addr)
	if err != nil {
		return nil, fault.Errorf(fault.Conflict, "%s is taken: end the other program or choose another port with --addr 127.0.0.1:0: %w", addr, err)
	}
	return ln, nil
}

func who() string {
	u, err := user.Current()
	if err != nil {
		return ""
	}
	return u.Username
}

// openBrowser opens the address where someone is likely to look at it.
func (sh *shell) openBrowser(ctx context.Context, url string) {
	if !sh.terminal() {
		return
	}
	var cmd *exec.Cmd
	switch {
	case runtime.GOOS == "darwin":
		cmd = exec.CommandContext(ctx, "open", url)
	case runtime.GOOS == "windows":
		cmd = exec.CommandContext(ctx, "rundll32", "url.dll,FileProtocolHandler", url)
	case os.Getenv("DISPLAY") != "" || os.Getenv("WAYLAND_DISPLAY") != "":
		cmd = exec.CommandContext(ctx, "xdg-open", url)
	default:
		return
	}
	if cmd.Start() == nil {
		go func() { _ = cmd.Wait() }()
	}
}
