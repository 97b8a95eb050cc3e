package job

import "runnel/unit"

// readSmall reads a small file into a struct: TOML through its tags, CSV through columns. take is handed the rows of a CSV,
// check the decoder of a TOML file that could be read; either adds to the problems of what it is handed.
func readSmall(name string, data []byte, into any, columns []sheetColumn, take func(*sheet, [][]sheetCell), check func(*decoder)) Problems {
	src, ps := tomlSource(name, data)
	if len(ps) > 0 {
		return ps
	}
	if !isTOML(name) {
		s, rows := readSheet(src, columns)
		if len(s.problems) == 0 {
			take(s, rows)
		}
		return s.problems
	}
	d := decode(src, into)
	if len(d.problems) == 0 && check != nil {
		check(d)
	}
	return d.problems
}

// failAt records a problem of a TOML file at a key.
func (d *decoder) failAt(key, found, write string) {
	line, column := d.place(key)
	d.problems = append(d.problems, Problem{File: d.src.name, Line: line, Column: column, Key: key, Found: found, Write: write})
}

func pressureDims() []unit.Dimension { return []unit.Dimension{unit.Pressure} }
func flowDims() []unit.Dimension     { return []unit.Dimension{unit.VolumeFlow} }

func quantityColumn(key string, dims []unit.Dimension, need bool, also ...string) sheetColumn {
	return sheetColumn{key: key, also: also, dims: dims, kind: sheetQuantity, need: need}
}

func textColumn(key string, need bool, also ...string) sheetColumn {
	return sheetColumn{key: key, also: also, kind: sheetText, need: need}
}
