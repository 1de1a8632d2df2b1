package web_test

import (
	"testing"
	"time"

	"headstock/demo"
	"headstock/web"
)

// smallText is a train of two whose search takes seconds.
const smallText = "Brant 1 lead, HX 201 loaded"

// searchingSite is the demo railway's site that searches.
func searchingSite(t testing.TB) *web.Site {
	t.Helper()
	s, complaints := web.New(web.Config{Fleet: demo.Railway(), Saved: []string{smallText}, Version: "test", AtOnce: 2, Search: 1, Results: web.Shared, Program: "test",
		Now: func() time.Time { return time.Date(2026, 11, 25, 2, 0, 0, 0, time.UTC) }})
	for _, c := range complaints {
		t.Fatal(c)
	}
	t.Cleanup(s.Close)
	return s
}

// searchedPages are those that rest on a search.
func searchedPages() [][2]string {
	const step = "reduction"
	return [][2]string{
		{"searched-search", at("/search", "consist", smallText)},
		{"searched-coupling", at("/coupling", "consist", smallText)},
		{"searched-coverage", at("/coverage", "consist", smallText)},
		{"searched-steps", at("/coverage", "consist", smallText, "matrix", "yes")},
		{"searched-diagnose", at("/diagnose", "consist", smallText)},
		{"searched-diagnose-step", at("/diagnose", "consist", smallText, "step", step, "of", "Brant 1")},
		{"searched-diagnosed", at("/diagnose", "consist", smallText, "saw", step+"/HX 201.brake-piston=in", "saw", "first reduction/Brant 1.brake-pipe-gauge=450 kPa")},
		{"searched-matrix", at("/matrix", "class", "Brant", "class", "Scoter")},
		{"searched-envelope", at("/envelope", "consist", smallText, "number", "2")},
	}
}
