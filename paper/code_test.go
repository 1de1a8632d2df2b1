package paper

import (
	"image"
	"image/color"
	"regexp"
	"strconv"
	"strings"
	"testing"

	goqr "github.com/piglig/go-qr"
)

// The code as SVG, drawn out again module by module, says what it was given.
func TestCodeAsSVG(t *testing.T) {
	const text = "https://depot.example:8443/card?consist=Tern+3+lead%2C+Kite+11+trail"
	svg, err := Code(text, `square code: "<&>"`)
	if err != nil || !strings.Contains(svg, `aria-label="square code: &#34;&lt;&amp;&gt;&#34;"`) {
		t.Fatal(err, svg)
	}
	side, err := strconv.Atoi(regexp.MustCompile(`viewBox="0 0 (\d+) `).FindStringSubmatch(svg)[1])
	if err != nil {
		t.Fatal(err)
	}
	const m = 4 // px a module
	img := image.NewGray(image.Rect(0, 0, side*m, side*m))
	for i := range img.Pix {
		img.Pix[i] = 255
	}
	runs := regexp.MustCompile(`M(\d+) (\d+)h(\d+)v1h-(\d+)z`).FindAllStringSubmatch(svg, -1)
	for _, r := range runs {
		x, _ := strconv.Atoi(r[1])
		y, _ := strconv.Atoi(r[2])
		long, _ := strconv.Atoi(r[3])
		if r[3] != r[4] || x < 4 || y < 4 || x+long > side-4 || y >= side-4 {
			t.Fatalf("%v is no run within the quiet zone of %d", r, side)
		}
		for dx := range long * m {
			for dy := range m {
				img.SetGray(x*m+dx, y*m+dy, color.Gray{})
			}
		}
	}
	got, err := goqr.Decode(img)
	if err != nil || got != text {
		t.Errorf("it says %q, %v", got, err)
	}
	if svg, err := Code(strings.Repeat("x", maxCode+1), ""); svg != "" || err != nil {
		t.Errorf("too long a text: %q, %v", svg, err)
	}
}
