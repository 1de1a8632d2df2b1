package paper

import (
	"bytes"
	"encoding/binary"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"strings"
	"testing"

	"headstock/card"
)

// corner is a picture of w by h that is white but for its upper left quarter.
func corner(w, h int) image.Image {
	m := image.NewGray(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			if x >= w/2 || y >= h/2 {
				m.SetGray(x, y, color.Gray{Y: 255})
			}
		}
	}
	return m
}

type byteOrder interface {
	binary.ByteOrder
	binary.AppendByteOrder
}

// noted is a JPEG of a picture with the orientation that a camera would note in it.
func noted(t *testing.T, m image.Image, turn uint16, order byteOrder) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := jpeg.Encode(&b, m, &jpeg.Options{Quality: 95}); err != nil {
		t.Fatal(err)
	}
	tiff := []byte("MM\x00*")
	if order == byteOrder(binary.LittleEndian) {
		tiff = []byte("II*\x00")
	}
	tiff = order.AppendUint32(tiff, 8)
	tiff = order.AppendUint16(tiff, 1)
	tiff = order.AppendUint16(tiff, 0x0112)
	tiff = order.AppendUint16(tiff, 3)
	tiff = order.AppendUint32(tiff, 1)
	tiff = order.AppendUint16(tiff, turn)
	tiff = order.AppendUint16(tiff, 0)
	tiff = order.AppendUint32(tiff, 0)
	body := append([]byte("Exif\x00\x00"), tiff...)
	out := append([]byte{}, b.Bytes()[:2]...)
	out = append(out, 0xff, 0xe1)
	out = binary.BigEndian.AppendUint16(out, uint16(len(body)+2))
	return append(append(out, body...), b.Bytes()[2:]...)
}

// Where the quarter that lay in the upper left of the file is seen, by the eight
// orientations of the Exif standard (tag 0x0112: which side of the scene row 0 and column
// 0 of the file are).
func TestTurnedPhotographsStandUpright(t *testing.T) {
	for turn, at := range map[uint16]string{1: "upper left", 2: "upper right", 3: "lower right", 4: "lower left", 5: "upper left", 6: "upper right", 7: "lower right", 8: "lower left"} {
		for _, order := range []byteOrder{binary.BigEndian, binary.LittleEndian} {
			data := noted(t, corner(64, 32), turn, order)
			p := &card.Picture{File: "x.jpg", Kind: "image/jpeg", Width: 64, Height: 32, Data: data}
			up, kind, err := upright(p)
			if err != nil || kind != "JPG" {
				t.Fatal(kind, err)
			}
			m, _, err := image.Decode(bytes.NewReader(up))
			if err != nil {
				t.Fatal(err)
			}
			w, h := m.Bounds().Dx(), m.Bounds().Dy()
			if x, y := seen(p); x != w || y != h || (turn >= 5) != (h > w) {
				t.Errorf("%d: %d by %d, taken as %d by %d", turn, w, h, x, y)
			}
			dark := func(x, y int) bool { r, _, _, _ := m.At(x, y).RGBA(); return r < 0x4000 }
			got := ""
			for name, d := range map[string]bool{"upper left": dark(w/4, h/4), "upper right": dark(3*w/4, h/4), "lower left": dark(w/4, 3*h/4), "lower right": dark(3*w/4, 3*h/4)} {
				if d {
					got += name
				}
			}
			if got != at {
				t.Errorf("orientation %d: seen %q, want %q", turn, got, at)
			}
		}
	}
}

func TestOrientationOfOddFiles(t *testing.T) {
	whole := noted(t, corner(8, 8), 6, binary.BigEndian)
	for n := range len(whole) {
		turned(whole[:n]) // no panic
	}
	if turned([]byte("\x89PNG")) != 1 || turned(noted(t, corner(8, 8), 99, binary.BigEndian)) != 1 {
		t.Error("an odd file is taken as turned")
	}
}

// A photograph is in the page, on the card and named in text; one whose file has gone is
// named everywhere.
func TestPhotographs(t *testing.T) {
	var b bytes.Buffer
	if err := png.Encode(&b, corner(40, 30)); err != nil {
		t.Fatal(err)
	}
	d := &card.Document{Title: "A cock"}
	d.Picture(card.Picture{Caption: "cock, <open>", File: "photos/cock.png", Kind: "image/png", Width: 40, Height: 30, Data: b.Bytes()})
	d.Picture(card.Picture{Caption: "gone", File: "photos/gone.jpg"})
	var page, text, file bytes.Buffer
	if err := HTML(&page, d); err != nil {
		t.Fatal(err)
	}
	if err := Text(&text, d, Style{}); err != nil {
		t.Fatal(err)
	}
	if err := PDF(&file, d, Sheet{}); err != nil {
		t.Fatal(err)
	}
	if s := page.String(); strings.Count(s, `<img src="data:image/png;base64,`) != 1 || !strings.Contains(s, `alt="cock, &lt;open&gt;"`) || !strings.Contains(s, "img-src data:") {
		t.Error(s)
	}
	for _, want := range []string{"photo: photos/cock.png (cock, <open>)", "photo: photos/gone.jpg (gone)"} {
		if !strings.Contains(text.String(), want) {
			t.Errorf("no %q in %s", want, text.String())
		}
	}
	if n := bytes.Count(file.Bytes(), []byte("/Subtype /Image")); n != 1 {
		t.Errorf("%d pictures in the file", n)
	}
}
