package quantity

import (
	"errors"
	"math"
	"testing"
)

func TestParse(t *testing.T) {
	for _, c := range []struct {
		text string
		want Value
	}{
		{"12 mm", Value{Length, 0.012, 0}},
		{"12mm", Value{Length, 0.012, 0}},
		{"12 mm ± 0.5 mm", Value{Length, 0.012, 0.0005}},
		{"12 ± 0,5 mm", Value{Length, 0.012, 0.0005}},
		{"0,6 L +/- 10 %", Value{Volume, 0.0006, 0.00006}},
		{"500 kPa", Value{Pressure, 500e3, 0}},
		{"500 kPa gauge", Value{Pressure, 500e3, 0}},
		{"601 kPa abs ± 5 kPa", Value{AbsolutePressure, 601e3, 5e3}},
		{"20 °C ± 2 °C", Value{Temperature, 293.15, 2}},
		{"-5 °C", Value{Temperature, 268.15, 0}},
		{"−5 °C", Value{Temperature, 268.15, 0}},
		{"4", Value{Count, 4, 0}},
		{"25 %", Value{Count, 0.25, 0}},
		{"0,125 m", Value{Length, 0.125, 0}},
		{"90 kPa/s", Value{Rate, 90e3, 0}},
	} {
		v, err := Parse(c.text)
		if err != nil || v.Kind != c.want.Kind || math.Abs(v.SI-c.want.SI) > 1e-9*math.Abs(c.want.SI) || math.Abs(v.Spread-c.want.Spread) > 1e-9 {
			t.Errorf("%q = %+v, %v; want %+v", c.text, v, err, c.want)
		}
	}
}

func TestParseRefuses(t *testing.T) {
	for _, c := range []struct {
		text    string
		fault   Fault
		nearest string
	}{
		{"", NotANumber, ""},
		{"wide", NotANumber, ""},
		{"12 kpa", UnknownUnit, "kPa"},
		{"12 litres", UnknownUnit, "L"},
		{"12 kpas", UnknownUnit, "kPa"},
		{"1,250 kW", AmbiguousComma, "1250 or 1.250"},
		{"1.2.3 mm", NotANumber, ""},
		{"12 mm ± 3 kPa", BadSpread, "mm"},
		{"12 mm ± -3 mm", BadSpread, "3 mm"},
	} {
		_, err := Parse(c.text)
		var e *Error
		if !errors.As(err, &e) || e.Fault != c.fault || e.Nearest != c.nearest {
			t.Errorf("%q: %v", c.text, err)
		}
	}
}

func TestParseRange(t *testing.T) {
	for _, s := range []string{"0 kPa .. 150 kPa", "0 .. 150 kPa"} {
		r, k, err := ParseRange(s)
		if err != nil || k != Pressure || r != (Range{0, 150e3}) {
			t.Errorf("%q = %v %v %v", s, r, k, err)
		}
	}
	for _, s := range []string{"150 kPa", "150 kPa .. 0 kPa", "0 mm .. 1 kPa", "..", "a..b"} {
		if _, _, err := ParseRange(s); err == nil {
			t.Errorf("%q was read", s)
		}
	}
}

func TestPrint(t *testing.T) {
	m, i := Metric(), Imperial()
	for _, c := range [][2]string{
		{m.Gauge(KPaGauge(500)), "500 kPa"},
		{i.Gauge(KPaGauge(500)), "72.5 psi"},
		{m.GaugeRounded(KPaGauge(34.6), Down), "34 kPa"},
		{m.GaugeRounded(KPaGauge(484.1), Up), "485 kPa"},
		{m.GaugeRounded(KPaGauge(485), Up), "485 kPa"},
		{m.GaugeBand(KPaGauge(440.2), KPaGauge(459.9)), "441–459 kPa"},
		{m.GaugeBand(KPaGauge(440.2), KPaGauge(440.8)), "440.2–440.8 kPa"},
		{m.Gauge(KPaGauge(-0.2)), "0 kPa"},
		{m.Length(Millimetres(12.5)), "12.5 mm"},
		{m.Length(16.4), "16.4 m"},
		{i.Length(Inches(8)), "8 in"},
		{m.Volume(Litres(400)), "400 L"},
		{m.Volume(Litres(3.75)), "3.75 L"},
		{m.Mass(Tonnes(96)), "96 t"},
		{i.Mass(Tonnes(96)), "105.8 short tons"},
		{m.Seconds(150), "2 min 30 s"},
		{m.Seconds(12.4), "12 s"},
		{m.Seconds(3600), "1 h"},
		{m.Value(Value{Length, 0.012, 0.0005}), "12 mm ± 0.5 mm"},
		{m.Value(Value{Temperature, 293.15, 2}), "20 °C ± 2 °C"},
		{m.SI(Count, 0.25), "0.25"},
	} {
		if c[0] != c[1] {
			t.Errorf("printed %q, want %q", c[0], c[1])
		}
	}
}

func TestGaugeAndAbsolute(t *testing.T) {
	if got := KPaGauge(500).Absolute(StandardAtmosphere).KPa(); math.Abs(got-601.325) > 1e-9 {
		t.Error(got)
	}
	if got := KPaAbs(601.325).Gauge(StandardAtmosphere).KPa(); math.Abs(got-500) > 1e-9 {
		t.Error(got)
	}
}

func FuzzParse(f *testing.F) {
	for _, s := range []string{"12 mm ± 0.5 mm", "0,6 L", "1,250 kW", "601 kPa abs", "±", "-", "1e9", "9999999 t"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		v, err := Parse(s)
		if err == nil {
			if math.IsNaN(v.SI) || math.IsInf(v.SI, 0) || v.Spread < 0 {
				t.Errorf("%q = %+v", s, v)
			}
			Metric().Value(v)
			Imperial().Value(v)
		}
		ParseRange(s)
	})
}
