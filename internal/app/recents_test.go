package app

import "testing"

// The value not used for longest goes first; a key is held once, with the last value it was given.
func TestRecents(t *testing.T) {
	r := newRecents[int](2)
	r.put("a", 1)
	r.put("b", 2)
	if v, ok := r.get("a"); !ok || v != 1 {
		t.Errorf("a is %d, %v", v, ok)
	}
	r.put("c", 3) // b was not used since a
	if _, ok := r.get("b"); ok {
		t.Error("b is still held")
	}
	r.put("c", 4)
	if a, ok := r.get("a"); !ok || a != 1 {
		t.Error("putting c anew put a out")
	}
	if c, ok := r.get("c"); !ok || c != 4 {
		t.Errorf("c is %d, %v, want its last value", c, ok)
	}
}
