// Package live lets many look on at one thing that changes: the frames of a bench.
//
// A Hub keeps the last of what was published in a ring. A Watcher has a place in it and asks for what is new; one that joins
// late begins with everything the ring holds. Nothing is queued for anyone: a slow watcher gets more at once the next time it
// asks, and when it falls behind the ring it is told how much it missed. It cannot slow the publisher or the others.
package live
