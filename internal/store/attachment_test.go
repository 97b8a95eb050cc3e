package store_test

import (
	"testing"

	"runnel/internal/fault"
	"runnel/internal/store"
)

// What was attached comes back to the last byte, is described anew, put away and told in the log.
func TestAttachments(t *testing.T) {
	s := temp(t)
	a := store.Attachment{Job: "six", Piece: "manifold", Opening: "1", Round: "received", Kind: "mesh", Name: "mould.stl", About: []byte(`{"unit":"mm"}`)}
	if _, err := s.Attach(t.Context(), a, []byte("solid"), by); fault.KindOf(err) != fault.NotFound {
		t.Fatalf("attached to a job that is not there: %v", err)
	}
	put(t, s, folder(), store.Created, 1)
	id, err := s.Attach(t.Context(), a, []byte("solid"), by)
	if err != nil {
		t.Fatal(err)
	}
	a.Kind = "poem"
	if _, err := s.Attach(t.Context(), a, nil, by); err == nil {
		t.Error("a kind that does not exist was taken")
	}
	got, err := s.Attachments(t.Context(), "six", "manifold", "1")
	if err != nil || len(got) != 1 || got[0].ID != id || got[0].Name != "mould.stl" || got[0].Added.IsZero() {
		t.Fatalf("%+v, %v", got, err)
	}
	if other, err := s.Attachments(t.Context(), "six", "manifold", "2"); err != nil || len(other) != 0 {
		t.Errorf("another opening has %d, %v", len(other), err)
	}
	data, err := s.Content(t.Context(), got[0].Hash)
	if err != nil || string(data) != "solid" {
		t.Errorf("contents %q, %v", data, err)
	}
	if err := s.DescribeAttachment(t.Context(), "six", id, []byte(`{"unit":"in"}`), by); err != nil {
		t.Fatal(err)
	}
	if one, err := s.Attachment(t.Context(), "six", id); err != nil || string(one.About) != `{"unit":"in"}` {
		t.Errorf("%s, %v", one.About, err)
	}
	if _, err := s.Attachment(t.Context(), "other", id); fault.KindOf(err) != fault.NotFound {
		t.Errorf("another job reads it: %v", err)
	}
	if err := s.RemoveAttachment(t.Context(), "six", id, by); err != nil {
		t.Fatal(err)
	}
	if err := s.RemoveAttachment(t.Context(), "six", id, by); fault.KindOf(err) != fault.NotFound {
		t.Errorf("put away twice: %v", err)
	}
	log, err := s.Changes(t.Context(), "six")
	if err != nil || len(log) < 3 || log[0].What != "mesh mould.stl put away" {
		t.Errorf("%+v, %v", log, err)
	}
	if err := s.Check(t.Context()); err != nil {
		t.Error(err)
	}
}
