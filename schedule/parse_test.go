package schedule

import (
	"encoding"
	"strings"
	"testing"
)

// fuzzText checks that what a parser takes it prints so that it reads the same,
// and that what it refuses changes nothing and is answered in one line.
func fuzzText[T textValue, P interface {
	*T
	encoding.TextUnmarshaler
}](t *testing.T, text string) {
	t.Helper()
	var v T
	err := P(&v).UnmarshalText([]byte(text))
	switch {
	case err == nil:
		readback[T, P](t, v)
	case v != *new(T):
		t.Fatalf("%q was refused and still gave %v", text, v)
	default:
		oneLine(t, err)
	}
}

// oneLine holds a message to what can be printed after "putlog: ".
func oneLine(t *testing.T, err error) {
	t.Helper()
	if said := err.Error(); said == "" || strings.ContainsAny(said, "\n\r\t\x1b") {
		t.Fatalf("the message is %q", said)
	}
}

// FuzzParse holds every parser of the package to its own printer.
func FuzzParse(f *testing.F) {
	for _, text := range []string{"", "10", "7.5", "-3", "7.5 °C", "1e9", "-", // temperatures
		"0.7", "70%", "66.7 %", "1", "0.0000", // parts of the strength
		"65mm", "65 mm", "65", "mm", "00mm", // thicknesses
		"2d", "0.5d", "2", "d", "366d", // cold spells
		"82.5%", "75", "65 %", "100.0%", "0.75", "075", "1e2", // humidities
		"2027-03-01", "2028-02-29", "2027-02-29", "1999-12-31", "2099-12-31 pm", "2027-03-01  am",
		"2027-03-01 ", "٢٠٢٧-03-01", "2027-13-01", "0000-00-00",
		"N", "sand-cement", "floating", "very-slow", "4", "board", "winter", "covering", "blended",
		"delivery", "start-finish", "two\nlines", "\xff", "\u202e"} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		fuzzText[Celsius](t, text)
		fuzzText[Fraction](t, text)
		fuzzText[Millimetres](t, text)
		fuzzText[ColdSpell](t, text)
		fuzzText[Humidity](t, text)
		fuzzText[Day](t, text)
		fuzzText[Kind](t, text)
		fuzzText[LinkType](t, text)
		fuzzText[CementClass](t, text)
		fuzzText[ScreedType](t, text)
		fuzzText[ScreedBed](t, text)
		fuzzText[StrengthDevelopment](t, text)
		fuzzText[CuringClass](t, text)
		fuzzText[Background](t, text)
		fuzzText[Season](t, text)
		fuzzText[MembraneStep](t, text)
		fuzzText[MortarCement](t, text)
		fuzzRanges(t, text)
		for _, half := range []Half{AM, PM} {
			fuzzInstant(t, text, half)
		}
	})
}

// fuzzRanges checks that a value read lies where its rules expect it.
func fuzzRanges(t *testing.T, text string) {
	t.Helper()
	var rh Humidity
	if rh.UnmarshalText([]byte(text)) == nil && !rh.valid() {
		t.Fatalf("%q reads as %d", text, rh)
	}
	var c Celsius
	if c.UnmarshalText([]byte(text)) == nil && (c.Tenths() < -500 || c.Tenths() > 1000) {
		t.Fatalf("%q reads as %d tenths", text, c.Tenths())
	}
	if d, err := ParseDay(text); err == nil && (!d.Valid() || d.String() != text) {
		t.Fatalf("%q reads as %d, %v", text, d, d)
	}
}

func fuzzInstant(t *testing.T, text string, half Half) {
	t.Helper()
	at, err := ParseInstant(text, half)
	if err != nil {
		oneLine(t, err)
		if at != 0 {
			t.Fatalf("%q was refused and still gave %v", text, at)
		}
		return
	}
	again, err := ParseInstant(at.String(), 1-half)
	if err != nil || again != at || !at.Day().Valid() {
		t.Fatalf("%q reads as %v, prints as %s and reads back as %v: %v", text, at, at, again, err)
	}
}
