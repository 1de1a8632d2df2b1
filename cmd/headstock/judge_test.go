package main

import (
	"github.com/spf13/cobra"

	"errors"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"headstock/prove"
)

// A file of readings is read as a spreadsheet writes it: with or without a byte order
// mark, with commas or semicolons.
func TestEntered(t *testing.T) {
	read := func(text string) ([]prove.Entered, error) {
		name := filepath.Join(t.TempDir(), "readings.csv")
		if err := os.WriteFile(name, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		return entered(name)
	}
	for _, c := range []struct {
		text string
		line int
	}{
		{"step,unit,device,value\ncharge,Tern 3,gauge,\"8,5 bar\"\n", 2},
		{"\ufeffstep,unit,device,value\r\ncharge,Tern 3,gauge,\"8,5 bar\"\r\n", 2},
		{"\ufeffStep;Unit;Device;Value\r\ncharge;Tern 3;gauge;8,5 bar\r\n", 2},
		{"\ufeff\"step\";\"unit\";\"device\";\"value\"\ncharge;Tern 3;gauge;8,5 bar", 2},
		{"# by hand, in the rain; twice\n\nstep ; unit ; device ; value\n\n charge ; Tern 3 ; gauge ; 8,5 bar \n", 5},
		{"\ufeff# by hand\nstep,unit,device,value\ncharge , Tern 3 , gauge , \"8,5 bar\"\n", 3},
	} {
		got, err := read(c.text)
		want := []prove.Entered{{Line: c.line, Step: "charge", Unit: "Tern 3", Device: "gauge", Value: "8,5 bar"}}
		if err != nil || !slices.Equal(got, want) {
			t.Errorf("%q: %+v, %v; want %+v", c.text, got, err, want)
		}
	}
	for _, text := range []string{"a;b\n", "step;unit;device\n", "step,unit;device,value\n", "step;unit;device;value\na;b;c\n", "step,unit,device,value\na,b,c,\"d\n"} {
		_, err := read(text)
		var e exit
		if !errors.As(err, &e) || e.code != 2 {
			t.Errorf("%q: %v, want bad input", text, err)
		}
	}
}

func TestFixed(t *testing.T) {
	for _, c := range []struct {
		x        float64
		decimals int
		want     string
	}{
		{-1e-9, 2, "0.00"}, {-0.004, 2, "0.00"}, {-0.006, 2, "-0.01"}, {0, 2, "0.00"}, {12.345, 2, "12.35"}, {10, 0, "10"}, {-0.2, 0, "0"}, {-10, 0, "-10"},
	} {
		if got := fixed(c.x, c.decimals); got != c.want {
			t.Errorf("fixed(%g, %d) = %q, want %q", c.x, c.decimals, got, c.want)
		}
	}
	for every, want := range map[float64]int{1: 0, 10: 0, 0.5: 1, 0.25: 2, 0.001: 3, 1.0 / 3: 6} {
		if got := decimals(every); got != want {
			t.Errorf("decimals(%g) = %d, want %d", every, got, want)
		}
	}
}

func TestFlagFault(t *testing.T) {
	c := &cobra.Command{Use: "x"}
	c.Flags().Int("width", 0, "")
	c.Flags().String("format", "", "")
	for in, want := range map[string]string{
		`invalid argument "x" for "--width" flag: strconv.ParseInt: parsing "x": invalid syntax`:         `invalid argument "x" for "--width"; expected a whole number`,
		`invalid argument "9e9" for "--width" flag: strconv.ParseInt: parsing "9e9": value out of range`: `invalid argument "9e9" for "--width": it is too large; expected a whole number`,
		`invalid argument "-1" for "--seed" flag: strconv.ParseUint: parsing "-1": invalid syntax`:       `invalid argument "-1" for "--seed"; expected a whole number from 0 on`,
		"unknown flag: --widht":     "unknown flag: --widht; nearest: --width",
		"unknown flag: --html":      "unknown flag: --html; nearest: --format html",
		"flag needs an argument: x": "flag needs an argument: x",
	} {
		if got := flagFault(errors.New(in), c); got != want {
			t.Errorf("%q becomes %q, want %q", in, got, want)
		}
	}
}
