package plot

import "math"

// Contrast returns the contrast ratio of two colours [-], from 1 to 21.
//
//	(L1 + 0.05)/(L2 + 0.05), L1 the lighter relative luminance
//
// Source: W3C, Web Content Accessibility Guidelines 2.2, definition of contrast ratio.
func Contrast(a, b RGB) float64 {
	la, lb := Luminance(a), Luminance(b)
	return (max(la, lb) + 0.05) / (min(la, lb) + 0.05)
}

// Luminance returns the relative luminance of a colour [-], 0 for black, 1 for white.
// Source: W3C, Web Content Accessibility Guidelines 2.2, definition of relative luminance; linear light after IEC 61966-2-1.
func Luminance(c RGB) float64 {
	return 0.2126*linear(c.R) + 0.7152*linear(c.G) + 0.0722*linear(c.B)
}

// linear is the light of an sRGB component. Source: IEC 61966-2-1:1999.
func linear(v uint8) float64 {
	s := float64(v) / 255
	if s <= 0.04045 {
		return s / 12.92
	}
	return math.Pow((s+0.055)/1.055, 2.4)
}
