package fleet

import (
	"bytes"
	"errors"
	"fmt"
	"image"
	_ "image/jpeg" // so that a photograph is known as what it is
	_ "image/png"
	"io/fs"
	"path"

	"headstock/internal/reading"
)

// A photograph is larger than this only by mistake: it would make every page and every
// printed card that shows it heavy.
const (
	maxPhoto    = 4 << 20 // bytes
	maxPhotoDot = 8000    // dots a side
)

// Photo is a photograph that a record names.
type Photo struct {
	File          string // as the record names it, from the class's folder
	Kind          string // image/jpeg or image/png
	Width, Height int    // dots, as they lie in the file
	Data          []byte
}

// Photo reads a photograph that a device or a position of a class names. A fleet without
// complaints has them all.
func (f *Fleet) Photo(c *Class, file string) (Photo, error) {
	name := path.Join(c.folder, file)
	data, err := fs.ReadFile(f.files, name)
	if err != nil {
		return Photo{}, fmt.Errorf("%s: %w", name, err)
	}
	cfg, kind, err := image.DecodeConfig(bytes.NewReader(data))
	if err != nil {
		return Photo{}, fmt.Errorf("%s: %w", name, err)
	}
	return Photo{File: file, Kind: "image/" + kind, Width: cfg.Width, Height: cfg.Height, Data: data}, nil
}

// photo reads the name of a photograph and holds it against its file; its bytes belong
// to the content of the record.
func (r *reader) photo(n *reading.Node) string {
	name := r.text(n)
	if name == "" {
		return ""
	}
	if !fs.ValidPath(name) || name == "." {
		r.complain(CodePhotoPath, n.Pos(), fmt.Sprintf("%q does not lead to a file in the folder of the class", name), "a path from the class's folder, with forward slashes: photos/cock.jpg", "")
		return ""
	}
	full := path.Join(r.folder, name)
	st, err := fs.Stat(r.fsys, full)
	if errors.Is(err, fs.ErrNotExist) || err == nil && st.IsDir() {
		r.complain(CodePhotoMissing, n.Pos(), fmt.Sprintf("there is no photograph %s", full), "a JPEG or PNG file in the folder of the class", r.nearPhoto(name))
		return ""
	}
	if err == nil && st.Size() > maxPhoto {
		r.complain(CodePhotoLarge, n.Pos(), fmt.Sprintf("the photograph %s has %.1f MB", full, float64(st.Size())/(1<<20)), fmt.Sprintf("at most %d MB; save it smaller", maxPhoto>>20), "")
		return ""
	}
	data, err := fs.ReadFile(r.fsys, full)
	if err != nil {
		r.complain(reading.CodeUnreadable, n.Pos(), fmt.Sprintf("the photograph %s cannot be read", full), "", "")
		return ""
	}
	cfg, _, err := image.DecodeConfig(bytes.NewReader(data))
	switch {
	case err != nil:
		r.complain(CodePhotoKind, n.Pos(), fmt.Sprintf("%s is no JPEG and no PNG", full), "a photograph saved as JPEG or PNG", "")
		return ""
	case cfg.Width > maxPhotoDot || cfg.Height > maxPhotoDot:
		r.complain(CodePhotoLarge, n.Pos(), fmt.Sprintf("the photograph %s has %d by %d dots", full, cfg.Width, cfg.Height), fmt.Sprintf("at most %d a side; save it smaller", maxPhotoDot), "")
		return ""
	}
	fmt.Fprintf(r.content, "photo %q %d\n", name, len(data))
	r.content.Write(data)
	return name
}

func (r *reader) nearPhoto(name string) string {
	entries, err := fs.ReadDir(r.fsys, path.Join(r.folder, path.Dir(name)))
	if err != nil {
		return ""
	}
	var names []string
	for _, e := range entries {
		if !e.IsDir() {
			names = append(names, path.Join(path.Dir(name), e.Name()))
		}
	}
	return reading.Nearest(name, names)
}
