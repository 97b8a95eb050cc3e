package web_test

import (
	"encoding/binary"
	"math"
	"net/http"
	"net/http/httptest"
	"os"
	"strings"
	"testing"

	"runnel/demo"
)

// Ends cut off at a slant shorten a passage: that stands at its head and not folded away. A file that is refused keeps its name as it is.
func TestMeshIsToldAtTheHead(t *testing.T) {
	a := newApp(t, instant())
	if _, err := a.ImportFolder(t.Context(), demo.FS); err != nil {
		t.Fatal(err)
	}
	h := newSite(t, a)
	const page = "/jobs/hill-climb-six/passages/manifold/2"
	fields := form("do", "mesh", "round", "received", "unit", "mm")
	w := ask(h, sendCheck(t, page, "port-2.stl", "no mesh", fields))
	if body := w.Body.String(); w.Code != http.StatusUnprocessableEntity || !strings.Contains(body, "<strong>port-2.stl: not an STL file") {
		t.Errorf("a file that is no mesh: %d, %q", w.Code, heads(body, "stl: not"))
	}

	// A cylinder sheared along its axis stays one, with both ends off square.
	data, err := os.ReadFile("../../passage/testdata/meshes/cylinder.stl")
	if err != nil {
		t.Fatal(err)
	}
	var lo, hi [3]float64
	at := func(i, k int) []byte { return data[i+12+4*k : i+16+4*k] }
	for i := 84; i+50 <= len(data); i += 50 {
		for k := range 9 {
			x := float64(math.Float32frombits(binary.LittleEndian.Uint32(at(i, k))))
			lo[k%3], hi[k%3] = min(lo[k%3], x), max(hi[k%3], x)
		}
	}
	axis := 0
	for k := range 3 {
		if hi[k]-lo[k] > hi[axis]-lo[axis] {
			axis = k
		}
	}
	for i := 84; i+50 <= len(data); i += 50 {
		for c := range 3 {
			z := at(i, 3*c+axis)
			x := math.Float32frombits(binary.LittleEndian.Uint32(at(i, 3*c+(axis+1)%3)))
			binary.LittleEndian.PutUint32(z, math.Float32bits(math.Float32frombits(binary.LittleEndian.Uint32(z))+0.6*x))
		}
	}
	if w = ask(h, sendCheck(t, page, "slanted.stl", string(data), fields)); w.Code != http.StatusSeeOther {
		t.Fatalf("the slanted mesh: %d, %q", w.Code, heads(w.Body.String(), "stl"))
	}
	body := ask(h, httptest.NewRequest(http.MethodGet, page+"?round=received", nil)).Body.String()
	head, _, _ := strings.Cut(body, `id="s-view"`)
	if strings.Count(head, "end is not square to the passage") != 2 {
		t.Errorf("the head of the page says %q", heads(head, "square"))
	}
}

// heads is what stands round a word of a page.
func heads(body, word string) string {
	i := strings.Index(body, word)
	if i < 0 {
		return "nothing of " + word
	}
	return body[max(0, i-80):min(len(body), i+120)]
}
