// Package passage is the shape of the way the air takes through a piece: a centreline with sections along it, made from
// typed measurements, from a scanned mesh or from pictures of mould slices, and what two states of it differ by.
//
// Lengths are along the centreline from the end where the air enters. A section lies in the plane normal to the centreline.
package passage
