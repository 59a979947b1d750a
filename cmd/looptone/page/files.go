package page

import (
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"io/fs"
	"mime"
	"net/http"
	"path"

	"looptone/cmd/looptone/drawing"
)

//go:embed web
var web embed.FS

// A file is what is served under a path.
type file struct {
	text []byte
	kind string
	tag  string // changes with the text
}

// files are all that is served, by path. There is nothing else, and no folder.
func files() map[string]*file {
	all := map[string]*file{}
	add := func(prefix string, from fs.FS) {
		err := fs.WalkDir(from, ".", func(name string, d fs.DirEntry, err error) error {
			if err != nil || d.IsDir() {
				return err
			}
			text, err := fs.ReadFile(from, name)
			all[prefix+name] = newFile(name, text)
			return err
		})
		if err != nil {
			panic(err) // embedded: there, or the program does not compile
		}
	}
	own, err := fs.Sub(web, "web")
	if err != nil {
		panic(err) // the same
	}
	add("/", own)
	add("/drawing/", drawing.Files)
	all["/"] = all["/index.html"]
	return all
}

// newFile is a file as it is served. What kind it is does not depend on what the machine
// knows of names.
func newFile(name string, text []byte) *file {
	sum := sha256.Sum256(text)
	f := &file{text: text, tag: `"` + hex.EncodeToString(sum[:8]) + `"`}
	switch path.Ext(name) {
	case ".html":
		f.kind = "text/html; charset=utf-8"
	case ".css":
		f.kind = "text/css; charset=utf-8"
	case ".js":
		f.kind = "text/javascript; charset=utf-8"
	case ".svg":
		f.kind = "image/svg+xml"
	default:
		f.kind = mime.TypeByExtension(path.Ext(name))
	}
	return f
}

func (f *file) serve(w http.ResponseWriter, r *http.Request) {
	h := w.Header()
	h.Set("Cache-Control", "no-cache")
	h.Set("ETag", f.tag)
	if r.Header.Get("If-None-Match") == f.tag {
		w.WriteHeader(http.StatusNotModified)
		return
	}
	h.Set("Content-Type", f.kind)
	w.Write(f.text)
}
