// Package sources lists every kind of source and opens those of a bench card.
package sources
