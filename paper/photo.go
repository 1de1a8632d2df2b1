package paper

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"image"
	"image/draw"
	"image/jpeg"
	"image/png"

	"headstock/card"
)

// upright gives a picture in a form that a printed page can hold: a JPEG as it is, unless
// the camera was held turned, and everything else as a PNG of eight bits a colour.
func upright(p *card.Picture) (data []byte, kind string, err error) {
	turn := 1
	if p.Kind == "image/jpeg" {
		if turn = turned(p.Data); turn == 1 {
			return p.Data, "JPG", nil
		}
	}
	img, _, err := image.Decode(bytes.NewReader(p.Data))
	if err != nil {
		return nil, "", fmt.Errorf("photo %s: %w", p.File, err)
	}
	flat := image.NewNRGBA(image.Rect(0, 0, img.Bounds().Dx(), img.Bounds().Dy()))
	draw.Draw(flat, flat.Bounds(), image.White, image.Point{}, draw.Src)
	draw.Draw(flat, flat.Bounds(), img, img.Bounds().Min, draw.Over)
	var b bytes.Buffer
	if p.Kind == "image/jpeg" {
		err = jpeg.Encode(&b, turnedBy(flat, turn), &jpeg.Options{Quality: 88})
		return b.Bytes(), "JPG", err
	}
	err = png.Encode(&b, flat)
	return b.Bytes(), "PNG", err
}

// seen is how wide and high a picture is seen, in its own dots, after the turn that its
// camera noted.
func seen(p *card.Picture) (width, height int) {
	if p.Kind == "image/jpeg" && turned(p.Data) >= 5 {
		return p.Height, p.Width
	}
	return p.Width, p.Height
}

// turned reads the orientation that a camera notes in a JPEG (Exif tag 0x0112): 1 is
// upright, 2 to 8 are the turns and mirrorings of it. What cannot be read is upright.
func turned(data []byte) int {
	if len(data) < 4 || data[0] != 0xff || data[1] != 0xd8 {
		return 1
	}
	for at := 2; at+4 <= len(data) && data[at] == 0xff; {
		marker, size := data[at+1], int(binary.BigEndian.Uint16(data[at+2:]))
		if marker == 0xda || size < 2 || at+2+size > len(data) {
			return 1
		}
		if body := data[at+4 : at+2+size]; marker == 0xe1 && len(body) > 14 && string(body[:6]) == "Exif\x00\x00" {
			return orientation(body[6:])
		}
		at += 2 + size
	}
	return 1
}

func orientation(tiff []byte) int {
	var order binary.ByteOrder = binary.BigEndian
	if string(tiff[:2]) == "II" {
		order = binary.LittleEndian
	}
	at := int64(order.Uint32(tiff[4:]))
	if at+2 > int64(len(tiff)) {
		return 1
	}
	n := int64(order.Uint16(tiff[at:]))
	for i := range n {
		e := at + 2 + i*12
		if e+12 > int64(len(tiff)) {
			return 1
		}
		if order.Uint16(tiff[e:]) == 0x0112 {
			if v := int(order.Uint16(tiff[e+8:])); v >= 1 && v <= 8 {
				return v
			}
			return 1
		}
	}
	return 1
}

// turnedBy sets a picture upright.
func turnedBy(in *image.NRGBA, turn int) image.Image {
	w, h := in.Bounds().Dx(), in.Bounds().Dy()
	ow, oh := w, h
	if turn >= 5 {
		ow, oh = h, w
	}
	out := image.NewNRGBA(image.Rect(0, 0, ow, oh))
	for y := range oh {
		for x := range ow {
			fx, fy := x, y
			switch turn {
			case 2:
				fx = w - 1 - x
			case 3:
				fx, fy = w-1-x, h-1-y
			case 4:
				fy = h - 1 - y
			case 5:
				fx, fy = y, x
			case 6:
				fx, fy = y, h-1-x
			case 7:
				fx, fy = w-1-y, h-1-x
			case 8:
				fx, fy = w-1-y, x
			}
			out.SetNRGBA(x, y, in.NRGBAAt(fx, fy))
		}
	}
	return out
}
