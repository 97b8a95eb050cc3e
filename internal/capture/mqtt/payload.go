package mqtt

import (
	"bytes"
	"encoding/json"
	"strconv"
	"strings"
)

// number finds the number at a path of a payload; an empty path is the payload itself.
func number(doc any, path string) (float64, bool) {
	if path != "" {
		for step := range strings.SplitSeq(path, ".") {
			switch x := doc.(type) {
			case map[string]any:
				doc = x[step]
			case []any:
				i, err := strconv.Atoi(step)
				if err != nil || i < 0 || i >= len(x) {
					return 0, false
				}
				doc = x[i]
			default:
				return 0, false
			}
		}
	}
	switch x := doc.(type) {
	case json.Number:
		v, err := x.Float64()
		return v, err == nil
	case string: // some devices put their numbers in quotation marks
		v, err := strconv.ParseFloat(strings.TrimSpace(x), 64)
		return v, err == nil
	}
	return 0, false
}

// document reads a payload. Without a path it is a plain number, in text.
func document(payload []byte, plain bool) (any, bool) {
	if plain {
		return json.Number(strings.TrimSpace(string(payload))), true
	}
	d := json.NewDecoder(bytes.NewReader(payload))
	d.UseNumber()
	var doc any
	if d.Decode(&doc) != nil || d.More() {
		return nil, false
	}
	return doc, true
}
