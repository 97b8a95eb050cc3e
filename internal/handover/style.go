package handover

import _ "embed"

//go:embed handover.css
var css string

// styleSheet is the style sheet of the one-file HTML, with the paper it prints on.
func styleSheet(d Document) string {
	size := "A4"
	if d.Paper == Letter {
		size = "letter"
	}
	top := ""
	if d.Invented {
		top = "@top-center{content:\"" + inventedWords + "\";font:bold 8pt system-ui,sans-serif;color:#a84c17}"
	}
	return css + "@page{size:" + size + ";margin:19mm 18mm 20mm;" + top +
		"@bottom-left{content:\"Facts " + short(d.Hash) + "\";font:8pt system-ui,sans-serif;color:#55656a}" +
		"@bottom-right{content:\"Page \" counter(page) \" of \" counter(pages);font:8pt system-ui,sans-serif;color:#55656a}}\n"
}
