// Package app has one method for each thing a person does with Runnel. The command line, the pages and the API call it
// and nothing below it.
//
// Facts are kept by package store, everything else is computed from them by package assess and cached by the hash of
// the facts: the quick part when it is asked for, the pull in the background, where its progress can be watched.
package app
