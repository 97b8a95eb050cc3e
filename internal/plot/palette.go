package plot

import (
	"fmt"
	"strings"
)

// An Ink is a colour by its meaning. Its value differs between light and dark.
type Ink int

// The inks. Before is drawn dashed and After solid, gain carries ▲, loss ▼ and no proven change ●, so that nothing is
// said by colour alone.
const (
	Text   Ink = iota // letters and axes
	Muted             // labels of lesser weight
	Grid              // grid lines
	Paper             // the ground
	Before            // the state the work began from
	After             // the state the work ended in
	Accent            // what to look at
	Gain              // proven gain
	Loss              // proven loss
	Same              // no proven change
	Line1             // lines of one figure that have names of their own, in order
	Line2
	Line3
	Line4
	Line5
	Line6
	Line7
	Line8
	Part1 // parts of a whole, in order: areas
	Part2
	Part3
	Part4
	Part5
	Part6
	Part7
	Part8
	inks
)

// RGB is a colour of the sRGB space.
type RGB struct{ R, G, B uint8 }

// Hex writes the colour as "#0f6a73".
func (c RGB) Hex() string { return fmt.Sprintf("#%02x%02x%02x", c.R, c.G, c.B) }

// A tint is what one ink looks like: as line or fill, and as letters, which need more contrast.
type tint struct {
	name              string
	light, dark       RGB
	lightWord, darkWd RGB
}

// plain is a tint whose letters have the colour of its lines.
func plain(name string, light, dark RGB) tint { return tint{name, light, dark, light, dark} }

func tints() [inks]tint {
	return [inks]tint{
		Text:   plain("ink", RGB{0x1c, 0x2a, 0x2e}, RGB{0xe8, 0xe5, 0xdc}),
		Muted:  plain("muted", RGB{0x55, 0x65, 0x6a}, RGB{0x9f, 0xb0, 0xb3}),
		Grid:   plain("grid", RGB{0xde, 0xda, 0xcf}, RGB{0x2b, 0x38, 0x3c}),
		Paper:  plain("paper", RGB{0xf8, 0xf6, 0xf1}, RGB{0x12, 0x19, 0x1b}),
		Before: {"before", RGB{0x7a, 0x8a, 0x9a}, RGB{0x76, 0x88, 0xa0}, RGB{0x57, 0x67, 0x76}, RGB{0x97, 0xa8, 0xbe}},
		After:  plain("after", RGB{0x0b, 0x5a, 0x63}, RGB{0x55, 0xd6, 0xd4}),
		Accent: {"accent", RGB{0xb8, 0x56, 0x1d}, RGB{0xe2, 0x86, 0x45}, RGB{0xa8, 0x4c, 0x17}, RGB{0xe8, 0x95, 0x5a}},
		Gain:   plain("gain", RGB{0x0b, 0x5a, 0x63}, RGB{0x55, 0xd6, 0xd4}),
		Loss:   {"loss", RGB{0xb8, 0x56, 0x1d}, RGB{0xe2, 0x86, 0x45}, RGB{0xa8, 0x4c, 0x17}, RGB{0xe8, 0x95, 0x5a}},
		Same:   {"same", RGB{0x85, 0x87, 0x86}, RGB{0x85, 0x8b, 0x89}, RGB{0x62, 0x65, 0x64}, RGB{0xa6, 0xac, 0xaa}},
		Line1:  plain("line1", RGB{0x0b, 0x5a, 0x63}, RGB{0x55, 0xd6, 0xd4}),
		Line2:  plain("line2", RGB{0xa8, 0x4c, 0x17}, RGB{0xe8, 0x95, 0x5a}),
		Line3:  plain("line3", RGB{0x4c, 0x58, 0xa8}, RGB{0x25, 0x8c, 0xf5}),
		Line4:  plain("line4", RGB{0x36, 0x0f, 0x08}, RGB{0xff, 0xf4, 0x78}),
		Line5:  plain("line5", RGB{0x39, 0x6e, 0x4e}, RGB{0xbf, 0xfc, 0xbb}),
		Line6:  plain("line6", RGB{0x78, 0x24, 0x13}, RGB{0xbf, 0x76, 0x72}),
		Line7:  plain("line7", RGB{0x06, 0x18, 0x3f}, RGB{0x35, 0xc7, 0xff}),
		Line8:  plain("line8", RGB{0x10, 0x14, 0x6d}, RGB{0x35, 0x92, 0xab}),
		Part1:  plain("part1", RGB{0x0b, 0x5a, 0x63}, RGB{0x17, 0x73, 0x7c}),
		Part2:  plain("part2", RGB{0xdc, 0xae, 0x6c}, RGB{0xdc, 0xae, 0x6c}),
		Part3:  plain("part3", RGB{0x8a, 0x9b, 0xad}, RGB{0x8f, 0x9f, 0xb2}),
		Part4:  plain("part4", RGB{0xb8, 0x56, 0x1d}, RGB{0xbb, 0x55, 0x19}),
		Part5:  plain("part5", RGB{0xa9, 0xdc, 0xd4}, RGB{0xa9, 0xdc, 0xd4}),
		Part6:  plain("part6", RGB{0x4c, 0x58, 0xa8}, RGB{0x4c, 0x58, 0xa8}),
		Part7:  plain("part7", RGB{0xf6, 0xec, 0xc0}, RGB{0xf6, 0xec, 0xc0}),
		Part8:  plain("part8", RGB{0x14, 0x1d, 0x20}, RGB{0x3a, 0x4a, 0x50}),
	}
}

// palette is the table of tints; it is never written to.
var palette = tints()

// Inks lists all inks.
func Inks() []Ink {
	all := make([]Ink, inks)
	for i := range all {
		all[i] = Ink(i)
	}
	return all
}

// Part returns the ink of the i-th part of a whole, from 0; after the eighth they come round again.
func Part(i int) Ink { return Part1 + Ink(i%8) }

// LineOf returns the ink of the i-th line of a figure, from 0; after the eighth they come round again.
func LineOf(i int) Ink { return Line1 + Ink(i%8) }

// Name is the name of the ink's custom property without the dashes, "after".
func (k Ink) Name() string { return palette[k].name }

// Light is the colour on light paper.
func (k Ink) Light() RGB { return palette[k].light }

// Dark is the colour on a dark ground.
func (k Ink) Dark() RGB { return palette[k].dark }

// LightWord is the colour of letters on light paper.
func (k Ink) LightWord() RGB { return palette[k].lightWord }

// DarkWord is the colour of letters on a dark ground.
func (k Ink) DarkWord() RGB { return palette[k].darkWd }

// LightOn is the colour of letters on an area filled with the ink, on light paper.
func (k Ink) LightOn() RGB { return readable(k.Light()) }

// DarkOn is the colour of letters on an area filled with the ink, on a dark ground.
func (k Ink) DarkOn() RGB { return readable(k.Dark()) }

// readable returns the near-white or the near-black that can be read on c.
func readable(c RGB) RGB {
	white, black := RGB{0xff, 0xfd, 0xf8}, RGB{0x0c, 0x14, 0x16}
	if Contrast(white, c) >= Contrast(black, c) {
		return white
	}
	return black
}

// colour returns the value of a colour on light paper and the name of its custom property.
func (k Ink) colour(use use) (string, RGB) {
	switch use {
	case forWords:
		if k.LightWord() != k.Light() {
			return k.Name() + "-word", k.LightWord()
		}
	case onFill:
		return k.Name() + "-on", k.LightOn()
	case forMarks:
	}
	return k.Name(), k.Light()
}

type use int

const (
	forMarks use = iota
	forWords
	onFill
)

// CSS returns a style sheet with the palette as custom properties ("--after", "--after-word", "--part1-on"): light, dark
// by the reader's preference, and forced by data-theme on the root element. Figures name the same properties.
func CSS() string {
	var light, dark strings.Builder
	for _, k := range Inks() {
		fmt.Fprintf(&light, "--%s:%s;", k.Name(), k.Light().Hex())
		fmt.Fprintf(&dark, "--%s:%s;", k.Name(), k.Dark().Hex())
		if k.LightWord() != k.Light() {
			fmt.Fprintf(&light, "--%s-word:%s;", k.Name(), k.LightWord().Hex())
			fmt.Fprintf(&dark, "--%s-word:%s;", k.Name(), k.DarkWord().Hex())
		}
		if k >= Part1 {
			fmt.Fprintf(&light, "--%s-on:%s;", k.Name(), k.LightOn().Hex())
			fmt.Fprintf(&dark, "--%s-on:%s;", k.Name(), k.DarkOn().Hex())
		}
	}
	return ":root{color-scheme:light dark;" + light.String() + "}\n" +
		"@media screen and (prefers-color-scheme:dark){:root:not([data-theme=light]){" + dark.String() + "}}\n" +
		"@media screen{:root[data-theme=dark]{" + dark.String() + "}}\n" +
		"svg.plot{font-variant-numeric:tabular-nums;max-width:100%;height:auto}\n"
}
