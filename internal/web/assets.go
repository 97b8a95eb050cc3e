package web

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"fmt"
	"io/fs"
	"net/http"
	"path"
	"strings"

	"runnel/internal/plot"
)

//go:embed assets
var assetFiles embed.FS

// assets are the style sheet, the scripts and the pictures, under an address that changes when any of them does.
type assets struct {
	version string
	files   map[string]asset
}

type asset struct {
	kind   string
	etag   string
	data   []byte
	zipped []byte // nil when it would not be shorter
}

func loadAssets() (*assets, error) {
	a := &assets{files: map[string]asset{}}
	all := sha256.New()
	err := fs.WalkDir(assetFiles, "assets", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		data, err := assetFiles.ReadFile(name)
		if err != nil {
			return err
		}
		kind, ok := kinds[path.Ext(name)]
		if !ok {
			return fmt.Errorf("web: asset %s is of no known kind", name)
		}
		all.Write([]byte(name))
		all.Write(data)
		a.add(strings.TrimPrefix(name, "assets/"), kind, data)
		return nil
	})
	if err != nil {
		return nil, err
	}
	palette := []byte(plot.CSS()) // the pages and their figures share one palette
	all.Write(palette)
	a.add("palette.css", kinds[".css"], palette)
	a.version = hex.EncodeToString(all.Sum(nil)[:6])
	return a, nil
}

func (a *assets) add(name, kind string, data []byte) {
	sum := sha256.Sum256(data)
	one := asset{kind: kind, data: data, etag: `"` + hex.EncodeToString(sum[:10]) + `"`}
	if z := squeeze(data); len(z) < len(data) {
		one.zipped = z
	}
	a.files[name] = one
}

var kinds = map[string]string{
	".css": "text/css; charset=utf-8", ".js": "text/javascript; charset=utf-8", ".svg": "image/svg+xml", ".txt": "text/plain; charset=utf-8",
}

func squeeze(data []byte) []byte {
	var b bytes.Buffer
	z := gzip.NewWriter(&b)
	if _, err := z.Write(data); err != nil {
		return data
	}
	if err := z.Close(); err != nil {
		return data
	}
	return b.Bytes()
}

// url is the address of an asset.
func (a *assets) url(name string) (string, error) {
	if _, ok := a.files[name]; !ok {
		return "", fmt.Errorf("there is no asset %q", name)
	}
	return "/assets/" + a.version + "/" + name, nil
}

func (s *server) asset(w http.ResponseWriter, r *http.Request) {
	one, ok := s.assets.files[r.PathValue("file")]
	if !ok {
		s.notFound(w, r)
		return
	}
	h := w.Header()
	h.Set("Content-Type", one.kind)
	h.Set("Vary", "Accept-Encoding")
	h.Set("Cache-Control", "no-cache")
	if r.PathValue("version") == s.assets.version {
		h.Set("Cache-Control", "public, max-age=31536000, immutable")
	}
	data, etag := one.data, one.etag
	if one.zipped != nil && accepts(r, "gzip") {
		data, etag = one.zipped, strings.TrimSuffix(one.etag, `"`)+`-gz"`
		h.Set("Content-Encoding", "gzip")
	}
	h.Set("ETag", etag)
	if r.Header.Get("If-None-Match") == etag {
		h.Del("Content-Encoding")
		w.WriteHeader(http.StatusNotModified)
		return
	}
	if _, err := w.Write(data); err != nil {
		s.log.Debug("asset cut short", "error", err)
	}
}
