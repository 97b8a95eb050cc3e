package cli

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"syscall"

	"github.com/spf13/cobra"

	"runnel/gas"
	"runnel/internal/app"
	"runnel/internal/fault"
	"runnel/job"
	"runnel/passage"
	"runnel/unit"
)

// Exit codes.
const (
	exitOK       = 0   // done
	exitInternal = 1   // our fault
	exitUse      = 2   // wrong use: unknown command or flag, a flag that cannot be read
	exitInvalid  = 3   // bad input: a file or a value that cannot be
	exitDevice   = 4   // a device did not answer
	exitStopped  = 130 // stopped by the user, as shells count it
)

// An Env is where a command reads and writes.
type Env struct {
	Stdin  io.Reader
	Stdout io.Writer
	Stderr io.Writer
}

// usageError is wrong use of the command line.
type usageError struct{ err error }

func (e *usageError) Error() string { return e.err.Error() }
func (e *usageError) Unwrap() error { return e.err }

// A shell is what every command shares: its streams and the global flags.
type shell struct {
	env    Env
	json   bool
	units  string
	system unit.System
}

// Run runs the command line args and returns the exit code.
func Run(ctx context.Context, args []string, env Env) int {
	sh := &shell{env: env}
	root := newRoot(sh)
	root.SetArgs(args)
	root.SetIn(env.Stdin)
	root.SetOut(env.Stdout)
	root.SetErr(env.Stderr)
	err := root.ExecuteContext(ctx)
	if err == nil {
		return exitOK
	}
	if ctx.Err() != nil && errors.Is(err, context.Canceled) {
		_, _ = fmt.Fprintln(env.Stderr, "runnel: stopped; what was not finished is not kept")
		return exitStopped
	}
	code := exitCode(err)
	text := plainWords(err)
	if !ofFile(err) {
		text = sh.system.Text(text)
	}
	switch code {
	case exitUse:
		_, _ = fmt.Fprintf(env.Stderr, "runnel: %s\nTry \"runnel --help\", or --help after the command.\n", text)
	case exitInternal:
		_, _ = fmt.Fprintf(env.Stderr, "runnel: this is our fault: %s\n", text)
	default:
		_, _ = fmt.Fprintf(env.Stderr, "runnel: %s\n", text)
	}
	return code
}

func newRoot(sh *shell) *cobra.Command {
	root := &cobra.Command{
		Use:   "runnel",
		Short: "Proof for porters: readings, verdicts and predictions for intake manifolds and heads",
		Long: `Runnel serves the independent porter of intake manifolds and cylinder heads: it turns raw traces from an air bench
into corrected readings with an honest uncertainty, says whether a gain is proven, how evenly the runners match, which piece
holds the flow back, what the engine's torque is likely to do, and writes the handover for the customer.`,
		Version:       version(),
		SilenceUsage:  true,
		SilenceErrors: true,
		Args:          cobra.NoArgs,
		PersistentPreRunE: func(*cobra.Command, []string) error {
			s, err := unit.ParseSystem(sh.units)
			if err != nil {
				return &usageError{fmt.Errorf("--units: %w", err)}
			}
			sh.system = s
			return nil
		},
		RunE: func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	root.PersistentFlags().BoolVar(&sh.json, "json", false, "print JSON with units in the key names")
	root.PersistentFlags().StringVar(&sh.units, "units", "metric", "units for people: us or metric")
	root.SetFlagErrorFunc(func(_ *cobra.Command, err error) error { return &usageError{plainFlag(err)} })
	root.CompletionOptions.HiddenDefaultCmd = true
	root.AddCommand(commands(sh)...)
	wrapArgs(root)
	return root
}

// wrapArgs makes a wrong number of arguments count as wrong use, and says how the command is written.
func wrapArgs(cmd *cobra.Command) {
	if check := cmd.Args; check != nil {
		cmd.Args = func(c *cobra.Command, args []string) error {
			err := check(c, args)
			if err == nil {
				return nil
			}
			form := strings.TrimSuffix(c.UseLine(), " [flags]")
			if i := looseUnit(args); i >= 0 {
				return &usageError{fmt.Errorf("%q stands by itself: put a number and its unit in quotes, as %q", args[i], quoteLike(args, i))}
			}
			if strings.HasPrefix(err.Error(), "unknown command") {
				return &usageError{err}
			}
			return &usageError{fmt.Errorf("%d arguments do not fit: write it like %q", len(args), form)}
		}
	}
	for _, c := range cmd.Commands() {
		wrapArgs(c)
	}
}

func exitCode(err error) int {
	if _, ok := errors.AsType[*usageError](err); ok {
		return exitUse
	}
	if strings.HasPrefix(err.Error(), "unknown command") || strings.HasPrefix(err.Error(), "required flag") {
		return exitUse
	}
	if invalid(err) {
		return exitInvalid
	}
	switch fault.KindOf(err) {
	case fault.Invalid, fault.NotFound, fault.Conflict:
		return exitInvalid
	case fault.Device:
		return exitDevice
	case fault.Internal:
		return exitInternal
	}
	return exitInternal
}

// invalid reports whether err says by its type that the input is at fault.
func invalid(err error) bool {
	if _, ok := errors.AsType[job.Problems](err); ok {
		return true
	}
	if _, ok := errors.AsType[*gas.InputError](err); ok {
		return true
	}
	if _, ok := errors.AsType[*unit.ParseError](err); ok {
		return true
	}
	if pe, ok := errors.AsType[*fs.PathError](err); ok {
		return errors.Is(pe, fs.ErrNotExist) || errors.Is(pe, fs.ErrPermission) || errors.Is(pe, syscall.EISDIR) || errors.Is(pe, syscall.ENOTDIR)
	}
	return errors.Is(err, fs.ErrNotExist)
}

// ofFile reports whether err is about what stands in a file, which is told in the units of the file.
func ofFile(err error) bool {
	_, problems := errors.AsType[job.Problems](err)
	_, cell := errors.AsType[*passage.CellError](err)
	_, which := errors.AsType[*app.UnitQuestionError](err)
	return problems || cell || which
}

// plainWords is the text of an error, with the words of the operating system and of the command parser put plainly.
func plainWords(err error) string {
	text := strings.TrimRight(err.Error(), "\n")
	if names, ok := strings.CutPrefix(text, "required flag(s) "); ok {
		names = strings.ReplaceAll(strings.TrimSuffix(names, " not set"), `"`, "")
		return "something is left out: add --" + strings.ReplaceAll(names, ", ", ", --")
	}
	pe, ok := errors.AsType[*fs.PathError](err)
	if !ok {
		return text
	}
	var said string
	switch {
	case errors.Is(pe, fs.ErrNotExist) && noFolder(pe.Path):
		said = fmt.Sprintf("there is no folder %q", filepath.Dir(pe.Path))
	case errors.Is(pe, fs.ErrNotExist):
		said = fmt.Sprintf("there is nothing at %q", pe.Path)
	case errors.Is(pe, fs.ErrPermission):
		said = fmt.Sprintf("%q may not be opened by you", pe.Path)
	case errors.Is(pe, syscall.EISDIR):
		said = fmt.Sprintf("%q is a folder where a file is wanted", pe.Path)
	case errors.Is(pe, syscall.ENOTDIR):
		said = fmt.Sprintf("%q is a file where a folder is wanted", pe.Path)
	default:
		return text
	}
	return strings.Replace(text, pe.Error(), said, 1)
}

// isFree refuses a file to write that is there already: what was measured is not written over. No name is no file.
func isFree(flag, name string) error {
	if _, err := os.Lstat(name); err != nil {
		return nil //nolint:nilerr // whatever else is wrong with it is told when it is written
	}
	return &usageError{fmt.Errorf("--%s %s: that file is there already, and nothing is written over it: name another", flag, name)}
}

// noFolder reports whether the folder that a path names a file in is not there.
func noFolder(path string) bool {
	_, err := os.Stat(filepath.Dir(path))
	return errors.Is(err, fs.ErrNotExist)
}

// printJSON writes v as indented JSON.
func (sh *shell) printJSON(v any) error {
	enc := json.NewEncoder(sh.env.Stdout)
	enc.SetIndent("", "  ")
	enc.SetEscapeHTML(false)
	return enc.Encode(v)
}

func (sh *shell) printf(format string, args ...any) error {
	_, err := fmt.Fprintf(sh.env.Stdout, format, args...)
	return err
}

// terminal reports whether the error stream is a terminal, so that progress may be shown.
func (sh *shell) terminal() bool {
	f, ok := sh.env.Stderr.(*os.File)
	if !ok {
		return false
	}
	st, err := f.Stat()
	return err == nil && st.Mode()&os.ModeCharDevice != 0
}
