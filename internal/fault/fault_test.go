package fault_test

import (
	"errors"
	"fmt"
	"testing"

	"runnel/internal/fault"
)

func TestKindOf(t *testing.T) {
	cause := errors.New("beta 0.9")
	err := fmt.Errorf("job x: %w", fault.As(fault.Invalid, cause))
	if fault.KindOf(err) != fault.Invalid || !errors.Is(err, cause) {
		t.Errorf("kind %v, cause kept %v", fault.KindOf(err), errors.Is(err, cause))
	}
	if fault.KindOf(cause) != fault.Internal {
		t.Error("an error without a kind must count as our own fault")
	}
	if fault.As(fault.Invalid, nil) != nil {
		t.Error("no error must stay no error")
	}
}
