// Package examples holds job folders and engine files, all of them read by its tests: the published small engine, a motored
// reference cylinder, an invented V8, a first job typed by hand, one whose verdicts ask for more repeats, odd jobs that still get
// an answer, and broken ones with the message each must give.
package examples
