package fabric_test

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"tidebed/science/fabric"
	"tidebed/science/sun"
)

// Every row is in order: what it may pass, its spans, its source.
func TestCovers(t *testing.T) {
	covers := fabric.Covers()
	if len(covers) < 30 {
		t.Fatalf("%d covers", len(covers))
	}
	for _, c := range covers {
		byKey, err := fabric.LookupCover(" " + strings.ToUpper(c.Key))
		byName, errName := fabric.LookupCover(c.Name)
		if err != nil || errName != nil || byKey != c || byName != c {
			t.Errorf("%s is not found by key and name: %v, %v", c.Key, err, errName)
		}
		if c.Source == "" || c.Layers < 1 || !(c.LifeYears > 0) || !(c.ThicknessMM > 0) {
			t.Errorf("%s: %+v", c.Key, c)
		}
		if c.HasU != (c.Kind == fabric.Glazing || c.Kind == fabric.Opaque) {
			t.Errorf("%s: U known is %v for a %s", c.Key, c.HasU, c.Kind)
		}
		if u := c.UWm2K; c.HasU && !(u.Low > 0 && u.Low <= u.Typical && u.Typical <= u.High && u.High <= fabric.MostUWm2K) {
			t.Errorf("%s: U %+v", c.Key, u)
		}
		if r := c.ResistanceM2KW; (c.Kind == fabric.Curtain) != (r.Low > 0 && r.Low < r.Typical && r.Typical < r.High) {
			t.Errorf("%s: resistance %+v", c.Key, r)
		}
		for _, f := range []fabric.Figure{c.SolarNormal, c.ParNormal, c.ParDiffuse, c.Haze, c.Longwave} {
			if !(f.Value >= 0 && f.Value <= 1) || !f.Known && f.Value != 0 {
				t.Errorf("%s: %+v", c.Key, f)
			}
		}
		if c.ParDiffuse.Value > c.ParNormal.Value || c.Kind == fabric.Glazing && !(c.ParDiffuse.Value > 0) {
			t.Errorf("%s passes %g of an even sky and %g straight on", c.Key, c.ParDiffuse.Value, c.ParNormal.Value)
		}
	}
	if _, err := fabric.LookupCover("polycarbonate twin wall 8mm"); err == nil || !strings.Contains(err.Error(), "polycarbonate-twin-wall-8-mm") {
		t.Errorf("nearest: %v", err)
	}
	if got := fabric.CoverKeys(fabric.Curtain); len(got) != 2 {
		t.Errorf("curtains: %v", got)
	}
	if got := fabric.CoverKeys(); len(got) != len(covers) {
		t.Errorf("%d of %d keys", len(got), len(covers))
	}
}

// Print: single layers 5.7 to 6.8, double layers 3.4 to 4.0 W/m²K, twin-wall
// light 0.78 to 0.82, double pane 0.77 (growers' extension texts).
func TestCoversAsPrinted(t *testing.T) {
	in := func(key string, low, high float64) {
		c := the[fabric.Cover](t)(fabric.LookupCover(key))
		if u := c.UWm2K.Typical; u < low || u > high {
			t.Errorf("%s: U %g, printed %g to %g", key, u, low, high)
		}
	}
	for _, key := range []string{"single-glass-4-mm", "polyethylene-single-film-uv", "polycarbonate-single-corrugated", "fibreglass-reinforced-panel-corrugated"} {
		in(key, 5.7, 6.8)
	}
	in("polyethylene-double-inflated", 3.4, 4.0)
	in("double-glass-sealed", 3.4, 4.0)
	for _, key := range []string{"polycarbonate-twin-wall-6-mm", "polycarbonate-twin-wall-8-mm", "polycarbonate-twin-wall-10-mm"} {
		if c := the[fabric.Cover](t)(fabric.LookupCover(key)); c.ParNormal.Value < .78 || c.ParNormal.Value > .82 {
			t.Errorf("%s passes %g", key, c.ParNormal.Value)
		}
	}
	near(t, "double glass, light", the[fabric.Cover](t)(fabric.LookupCover("double-glass-sealed")).ParNormal.Value, .77, .015)
}

// The short form of incidence against the pane by pane sum of package sun: glass
// with 0.0736 of extinction.
func TestIncidence(t *testing.T) {
	straight := the[float64](t)(sun.Transmission(0, sun.IndexGlass, .0736))
	for _, deg := range []float64{0, 15, 30, 45, 60, 70} {
		pane := the[float64](t)(sun.Transmission(deg, sun.IndexGlass, .0736)) / straight
		near(t, "incidence", the[float64](t)(fabric.IncidenceFactor(deg, 1)), pane, .04)
	}
	near(t, "single at 60", the[float64](t)(fabric.IncidenceFactor(60, 1)), .90, 1e-9)
	near(t, "double at 60", the[float64](t)(fabric.IncidenceFactor(60, 2)), .83, 1e-9)
	if got := the[float64](t)(fabric.IncidenceFactor(90, 1)); got != 0 {
		t.Errorf("at 90°: %g", got)
	}
}

func TestSunThrough(t *testing.T) {
	glass := the[fabric.Cover](t)(fabric.LookupCover("single glass 4 mm"))
	roof := fabric.Face{Cover: glass, SlopeDeg: 0, CleanShare: .9}
	// Beam only, sun overhead: 1000 W/m² × 0.85 × 0.9.
	l := the[fabric.Light](t)(roof.SunThrough(sun.Level{Global: 1000, Outer: 1360}, 0, 180, 0))
	near(t, "overhead", l.Energy, 1000*.85*.9, 1e-6)
	near(t, "overhead, light", l.Par, 1000*.89*.9, 1e-6)
	// Even sky only: 200 W/m² × 0.89 × 0.81/0.89.
	l = the[fabric.Light](t)(roof.SunThrough(sun.Level{Global: 200, Diffuse: 200, Outer: 800}, 50, 180, 0))
	near(t, "cloud", l.Par, 200*.81*.9, 1e-6)
	// South wall, sun due south at 60° of zenith: cos 30° over cos 60° of the beam, 30° of incidence; bare ground adds half of 0.2.
	wall := fabric.Face{Cover: glass, SlopeDeg: 90, AzimuthDeg: 180, CleanShare: 1}
	l = the[fabric.Light](t)(wall.SunThrough(sun.Level{Global: 500, Outer: 680}, 60, 180, .2))
	beam := 500 * math.Cos(math.Pi/6) / math.Cos(math.Pi/3)
	near(t, "on the wall", l.OnFace, beam+50, 1e-6)
	lean := 1 - .1*(1/math.Cos(math.Pi/6)-1)
	near(t, "through the wall", l.Energy, .85*(beam*lean+50*.81/.89), 1e-6)
	// Night: the sun below the horizon gives nothing, and no error.
	if l = the[fabric.Light](t)(wall.SunThrough(sun.Level{}, 120, 0, .2)); l.OnFace != 0 || l.Energy != 0 {
		t.Errorf("night: %+v", l)
	}
	wood := the[fabric.Cover](t)(fabric.LookupCover("insulated-door-40-mm"))
	if l = the[fabric.Light](t)(fabric.Face{Cover: wood, SlopeDeg: 90, CleanShare: 1}.SunThrough(sun.Level{Global: 500, Outer: 680}, 60, 180, .2)); l.Energy != 0 || l.OnFace == 0 {
		t.Errorf("a door: %+v", l)
	}
	curtain := the[fabric.Cover](t)(fabric.LookupCover("thermal-curtain-closed-full-aluminised"))
	if _, err := (fabric.Face{Cover: curtain, CleanShare: 1}).SunThrough(sun.Level{}, 0, 0, 0); err == nil {
		t.Error("light through a curtain without figures")
	}
}

// Never more comes through than falls on a face.
func TestSunThroughBounds(t *testing.T) {
	covers := fabric.Covers()
	rapid.Check(t, func(t *rapid.T) {
		f := fabric.Face{
			Cover:    covers[rapid.IntRange(0, 17).Draw(t, "cover")],
			SlopeDeg: rapid.Float64Range(0, 90).Draw(t, "slope"), AzimuthDeg: rapid.Float64Range(0, 360).Draw(t, "azimuth"), CleanShare: rapid.Float64Range(.5, 1).Draw(t, "clean"),
		}
		outer := rapid.Float64Range(1, 1300).Draw(t, "outer")
		global := outer * rapid.Float64Range(0, .85).Draw(t, "clearness")
		l, err := f.SunThrough(sun.Level{Global: global, Diffuse: global * rapid.Float64Range(.1, 1).Draw(t, "diffuse"), Outer: outer},
			rapid.Float64Range(0, 100).Draw(t, "zenith"), rapid.Float64Range(0, 360).Draw(t, "sun"), .2)
		if err != nil {
			t.Fatal(err)
		}
		most := f.CleanShare * l.OnFace
		if !(l.Energy >= 0 && l.Energy <= f.Cover.SolarNormal.Value*most+1e-9 && l.Par <= f.Cover.ParNormal.Value*most+1e-9) {
			t.Fatalf("%s: %+v", f.Cover.Key, l)
		}
	})
}
