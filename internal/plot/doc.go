// Package plot turns data into pictures. A picture is described once, as a [Figure]; the drawing code is written once
// against the small [Canvas], and so the page (SVG) and the paper (PDF) show the same thing. The constructors ([Match],
// [Verdicts], [Torque] and their kin) are pure functions of an assessment.
//
// Lengths on a canvas are in px of 1/96 inch, which is three quarters of a point.
package plot
