package app

import "slices"

// recents holds the few values last used, by key. It is its owner's to lock.
type recents[V any] struct {
	most int
	held []recent[V] // the last used first
}

type recent[V any] struct {
	key   string
	value V
}

func newRecents[V any](most int) recents[V] { return recents[V]{most: most} }

// get returns the value of a key, which counts as used now.
func (r *recents[V]) get(key string) (V, bool) {
	for i, k := range r.held {
		if k.key == key {
			copy(r.held[1:i+1], r.held[:i])
			r.held[0] = k
			return k.value, true
		}
	}
	var none V
	return none, false
}

// put holds a value in the place of what had its key before; the one not used for longest goes when there are too many.
func (r *recents[V]) put(key string, value V) {
	rest := slices.DeleteFunc(r.held, func(k recent[V]) bool { return k.key == key })
	r.held = append([]recent[V]{{key, value}}, rest[:min(len(rest), r.most-1)]...)
}
