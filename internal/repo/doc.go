// Package repo tests the repository itself: import direction, units in comments, package comments and the map in
// ARCHITECTURE.md. It has no code of its own.
package repo
