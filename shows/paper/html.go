package paper

import (
	"html/template"
	"io"
	"math"
)

// HTML writes a book as one web page without scripts or external files. It is
// readable on a phone; printed, each sheet begins a page.
func HTML(out io.Writer, b *Book) error {
	percent := func(share float64) int { return int(math.Round(share * 100)) }
	t, err := template.New("book").Funcs(template.FuncMap{"percent": percent}).Parse(bookHTML)
	if err != nil {
		return err
	}
	return t.Execute(out, b)
}

const bookHTML = `<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width">
<title>{{.Head}}</title>
<style>
body { font: 12pt/1.3 sans-serif; color: #000; background: #fff; margin: 1rem auto; max-width: 60rem; padding: 0 1rem }
header { border-bottom: 2px solid #000; margin: 2rem 0 1rem }
header p { margin: 0 } h1 { margin: .1em 0; overflow-wrap: anywhere }
table { border-collapse: collapse; width: 100%; table-layout: fixed } .wide { overflow-x: auto }
th { background: #ddd; font-size: .8em; text-align: left; padding: .2em .4em }
td { border-top: 1px solid #888; padding: .25em .4em; vertical-align: top; overflow-wrap: anywhere }
.strong td { border-top: 2px solid #000 } .bold { font-weight: bold }
thead { display: table-header-group } tr { break-inside: avoid }
.energy { display: block; border: 1px solid #000; height: .4em } .energy i { display: block; height: 100%; background: #000; print-color-adjust: exact }
.notice { border: 6px solid #000; padding: 1rem 2rem; font-size: 1.8rem } .notice h1 { font-size: 3.4rem } .notice .after { font-size: .8rem }
.large td { font-size: 1.6em } .after { font-size: .9em }
@media (max-width: 45rem) { table { min-width: 42rem } .notice h1 { font-size: 2.2rem } .notice { font-size: 1.3rem } }
@media print { body { font-size: 10.5pt; margin: 0; max-width: none; padding: 0 } section + section { break-before: page } .wide { overflow: visible } header { margin-top: 0 } }
@page { margin: 12mm }
</style>
</head>
<body>
{{$book := .}}{{range .Sheets}}<section{{if .Notice}} class="notice"{{end}}>
{{if .Notice}}<h1>{{.Title}}</h1>
{{else}}<header><p>{{$book.Head}} &middot; Date: ______________</p>
<h1>{{.Title}}</h1><p>{{.Under}}</p></header>
{{end}}{{range .Words}}<p>{{.}}</p>
{{end}}{{range .Tables}}{{$grid := .}}{{if .Name}}<h2>{{.Name}}</h2>
{{end}}<div class="wide"><table{{if .Scale}} class="large"{{end}}>
<colgroup>{{range .Share}}<col style="width: {{percent .}}%">{{end}}</colgroup>
<thead><tr>{{range .Heads}}<th scope="col">{{.}}</th>{{end}}</tr></thead>
<tbody>
{{range .Rows}}{{$row := .}}<tr{{if .Strong}} class="strong"{{end}}>{{range $n, $cell := .Cells}}<td{{if and $row.Strong (lt $n $grid.Bold)}} class="bold"{{end}}>{{$cell}}{{if eq $n 1}}{{if ge $row.Energy 0}}<span class="energy" title="energy {{$row.Energy}} of 10"><i style="width: {{$row.Energy}}0%"></i></span>{{end}}{{end}}</td>{{end}}</tr>
{{end}}</tbody>
</table></div>
{{end}}{{range .After}}<p class="after">{{.}}</p>
{{end}}</section>
{{end}}</body>
</html>
`
