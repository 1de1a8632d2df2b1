package haul_test

import (
	"testing"

	"headstock/demo"
	"headstock/rule"
)

func rules(t testing.TB) *rule.Rules {
	t.Helper()
	r, cs := rule.Read(demo.Railway())
	if len(cs) > 0 {
		t.Fatal(cs)
	}
	return r
}
