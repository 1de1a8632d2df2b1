package web_test

import (
	"testing"
	"time"

	"headstock/demo"
	"headstock/web"
)

// site is the demo railway's site on a fixed day.
func site(t testing.TB) *web.Site {
	t.Helper()
	s, complaints := web.New(web.Config{Fleet: demo.Railway(), Saved: []string{trainText, pairText}, Version: "test", AtOnce: 2,
		Now: func() time.Time { return time.Date(2026, 11, 25, 2, 0, 0, 0, time.UTC) }})
	for _, c := range complaints {
		t.Error(c)
	}
	if s == nil {
		t.FailNow()
	}
	return s
}
