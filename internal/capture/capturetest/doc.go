// Package capturetest checks the contract of a capture.Source. Every source runs it.
package capturetest
