package job

import "runnel/unit"

// ReadTransferCurve reads the transfer curve of a sensor from CSV with the columns reading, in the sensor's own unit, and
// mass_flow with its unit ("reading,mass_flow_kg_h"). name is used in messages. What is wrong is a Problems.
func ReadTransferCurve(name string, data []byte) ([]TablePoint, error) {
	src, ps := tomlSource(name, data)
	if len(ps) > 0 {
		return nil, ps.err()
	}
	s, rows := readSheet(src, []sheetColumn{
		{key: "reading", also: []string{"signal"}, kind: sheetNumber, need: true},
		quantityColumn("mass_flow", []unit.Dimension{unit.MassFlow}, true, "mass"),
		{key: "note", kind: sheetPassed},
	})
	var out []TablePoint
	for _, r := range rows {
		out = append(out, TablePoint{Reading: r[0].value, MassFlow: r[1].value})
	}
	return out, s.problems.sorted().err()
}
