// Package plottest is the contract of a canvas: what every [plot.Canvas] must do.
package plottest
