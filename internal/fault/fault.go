// Package fault names the five kinds of failure. The kind decides the exit code, the HTTP status
// and how much of the failure a stranger may see.
package fault

import (
	"errors"
	"fmt"
)

// A Kind is who has to act on a failure.
type Kind int

// The kinds of failure.
const (
	Internal Kind = iota // our fault: log it, show nothing of it
	Invalid              // the input: say what to change
	NotFound             // no such thing
	Conflict             // someone changed it first
	Device               // the bench did not answer
)

// An Error is a failure of a known kind.
type Error struct {
	Kind Kind
	Err  error
}

func (e *Error) Error() string { return e.Err.Error() }

// Unwrap returns the cause.
func (e *Error) Unwrap() error { return e.Err }

// Errorf makes a failure of the given kind.
func Errorf(k Kind, format string, args ...any) error {
	return &Error{Kind: k, Err: fmt.Errorf(format, args...)}
}

// As gives err the kind k; nil stays nil.
func As(k Kind, err error) error {
	if err == nil {
		return nil
	}
	return &Error{Kind: k, Err: err}
}

// KindOf returns the kind of err: Internal when none was given.
func KindOf(err error) Kind {
	if e, ok := errors.AsType[*Error](err); ok {
		return e.Kind
	}
	return Internal
}
