package report

import (
	"bufio"
	"crypto/sha256"
	"embed"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"html"
	"html/template"
	"time"

	"looptone/cmd/looptone/drawing"
)

// The pages' own styles and scripts, and the forms of their texts.
//
//go:embed web
var web embed.FS

var forms = template.Must(template.ParseFS(web, "web/*.html"))

// trafficScripts stand in the order in which they run.
var trafficScripts = []string{"sheet.js", "pages.js", "traffic.js", "overview.js", "period.js", "picture.js", "listing.js", "opened.js", "values.js", "delays.js", "statuses.js", "damage.js", "start.js"}

// sheetScripts are those of a page that has nothing to draw.
var sheetScripts = []string{"sheet.js"}

// begin writes a page up to its texts. It says that nothing may come from elsewhere, and
// that only its own script runs.
func begin(w *bufio.Writer, title, script string) {
	hash := sha256.Sum256([]byte(script))
	fmt.Fprintf(w, `<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; script-src 'sha256-%s'; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>%s</title>
<style>
%s%s</style>
<noscript><style>.drawn { display: none !important; }</style></noscript>
</head>
`, base64.StdEncoding.EncodeToString(hash[:]), html.EscapeString(title), drawing.Style(), read("report.css"))
}

// finish writes the data and the script, and ends the page. JSON as encoding/json writes
// it holds no <, so that nothing in it ends the element.
func finish(w *bufio.Writer, script string, data any) error {
	if data != nil {
		text, err := json.Marshal(data)
		if err != nil {
			return err
		}
		w.WriteString("<script type=\"application/json\" id=\"data\">")
		w.Write(text)
		w.WriteString("</script>\n")
	}
	_, err := fmt.Fprintf(w, "<footer><p class=\"quiet\">Made by looptone on %s.</p></footer>\n<script>%s</script>\n</body>\n</html>\n",
		time.Now().Format("2 January 2006 at 15:04:05 -07:00"), script)
	return err
}

func read(name string) string {
	text, err := web.ReadFile("web/" + name)
	if err != nil {
		panic(err) // embedded: there, or the program does not compile
	}
	return string(text)
}

// scriptOf is one script of the shared ones and some of this package.
func scriptOf(names []string) string {
	all := drawing.Script()
	for _, name := range names {
		all += read(name)
	}
	return all
}
