package web

import (
	"html"
	"math"
	"net/http"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"tidebed/season"
	"tidebed/site"
	"tidebed/warmth"
)

// warmthPages are the pages of a sample building, kept for all tests of its warmth:
// its measures take seconds.
func warmthPages(t *testing.T, name string) http.Handler {
	t.Helper()
	warmthKept.Lock()
	defer warmthKept.Unlock()
	if warmthKept.pages[name] == nil {
		warmthKept.pages[name] = samplePages(t, name)
	}
	return warmthKept.pages[name]
}

var warmthKept = struct {
	sync.Mutex
	pages map[string]http.Handler
}{pages: map[string]http.Handler{}}

func TestWarmthAnswersFirst(t *testing.T) {
	page := html.UnescapeString(get(t, warmthPages(t, "skerry-house"), "/warmth", http.StatusOK))
	mustContain(t, page, "<h1>Heat and power cost ", "for warming the tilapia tank", "which would save about", "EUR a year.</h1>",
		"Order wood pellets by", "The coldest air inside is", "What would help most", "foam board", "nothing to buy", "paid back in",
		"The bill", `id="bar-w0"`, `id="bar-n0"`, "Tilapia tank, vapour of the water", "<h3>By item</h3>", "load curve", "all heaters,", "The coldest day", "The hottest day", "Solid: outside; dashed: cool hall",
		"runs out", "Share of own energy", "October week", "Water that leaves as damp", "the meter at its end", "Heat cool hall with", "battery, hours of air", "for 1000 kcal", "Fish by the heat of a kilogram", "Rainbow trout",
		"carbon monoxide", "structural engineer", "Defaults that stand in", "licensed", "electrician", `aria-current="page">Warmth</a>`)
	mustLack(t, page, "style=", "%!", "`", "being worked out", "<script", noValue)
	if at := strings.Index(page, "<h1>"); at > strings.Index(page, "<table") || at > strings.Index(page, "<svg") {
		t.Error("the answer must stand first")
	}
	mustContain(t, get(t, warmthPages(t, "skerry-house"), "/more", http.StatusOK), `href="/warmth"`)
}

// What is first by the headline is the first row of the table and of the section on
// electricity; what is dearest by it the first row of the bill and the first part of
// the chart; and an amount is the same wherever it stands.
func TestWarmthAgreesWithItself(t *testing.T) {
	page := strings.ReplaceAll(html.UnescapeString(get(t, warmthPages(t, "skerry-house"), "/warmth", http.StatusOK)), "\u00a0", " ")
	head := regexp.MustCompile(`<h1>Heat and power cost (\S+) EUR a year, 38 % of it for warming the tilapia tank. To do first: (.*), which would save about (\d+) EUR a year.</h1>`).FindStringSubmatch(page)
	if head == nil {
		t.Fatal(page[strings.Index(page, "<h1>"):][:300])
	}
	firstRow := func(label string) string {
		_, rows, ok := strings.Cut(page, `aria-label="`+label+`"`)
		if !ok {
			t.Fatalf("no table %q", label)
		}
		_, rows, _ = strings.Cut(rows, "<tbody>")
		row, _, _ := strings.Cut(rows, "</tr>")
		return row
	}
	if row := firstRow("What would help most"); !strings.Contains(strings.ToLower(row), ">"+head[2]+"<") || !strings.Contains(row, ">"+head[3]+" EUR<") {
		t.Errorf("%q, %s EUR stands not first: %s", head[2], head[3], row)
	}
	if row := firstRow("The bill by item"); !strings.Contains(row, ">Tilapia tank<") || !strings.Contains(row, ">38 %<") {
		t.Errorf("the dearest stands not first: %s", row)
	}
	mustContain(t, page, warmth.OrderRule, "that saves "+head[3]+" EUR a year. It stands first of all", `<tspan class="told">1</tspan> tilapia tank, 1`+thinSpace+`007 EUR`,
		"weighted by heat", "as its cooler night ends", "takes about an eighth of the light of warm end", "the bill is halved only by", "What is lost if you close warm end for the five winter months", "Home-fed days in these months: March rehearsal")
	for _, cell := range []string{`<td data-head="together">`, `<td data-head="cost">`} {
		if !strings.Contains(page, cell+head[1]+" EUR") {
			t.Errorf("no %s%s EUR", cell, head[1])
		}
	}
	// The bars' labels are the months' sums.
	bars, _, _ := strings.Cut(page[strings.Index(page, `id="bar-w0"`):], "</svg>")
	for _, m := range regexp.MustCompile(`data-head="together">(\d+) EUR`).FindAllStringSubmatch(page, -1) {
		if !strings.Contains(bars, ">"+m[1]+"</text>") {
			t.Errorf("no bar says %s", m[1])
		}
	}
	fans := regexp.MustCompile(`<th scope="row">Fans</th>(?:<td[^>]*>[^<]*</td>)*<td data-head="cost">(\d+) EUR`).FindAllStringSubmatch(page, -1)
	if len(fans) != 2 || fans[0][1] != fans[1][1] {
		t.Errorf("fans cost %q", fans)
	}
}

// A day after the order's says so.
func TestWarmthOnALaterDay(t *testing.T) {
	demo, _, err := site.Sample("skerry-house")
	if err != nil {
		t.Fatal(err)
	}
	_, h := warmHandler(t, demo, site.On(2027, 11, 25))
	page := get(t, h, "/warmth", http.StatusOK)
	mustContain(t, page, "<li>Order wood pellets at once", "should have been ordered by 20 November 2027", "20 November 2027, which is past")
}

// The rows of the bill sum to its total, by item and by month.
func TestWarmthBillSums(t *testing.T) {
	page := html.UnescapeString(get(t, warmthPages(t, "skerry-house"), "/warmth", http.StatusOK))
	for _, table := range []struct{ label, head, all string }{{"The bill by item", "cost", "All"}, {"The bill by month", "together", "The year"}} {
		_, rows, ok := strings.Cut(page, `aria-label="`+table.label+`"`)
		if !ok {
			t.Fatalf("no table %q", table.label)
		}
		rows, _, _ = strings.Cut(rows, "</table>")
		sum, total := 0.0, math.NaN()
		for _, row := range strings.Split(rows, "<tr")[1:] {
			cell := regexp.MustCompile(`data-head="` + table.head + `">([^<]*) EUR<`).FindStringSubmatch(row)
			if cell == nil {
				continue
			}
			v := number(t, strings.NewReplacer(thinSpace, "", "−", "-", "\u00a0", "").Replace(cell[1]))
			if strings.Contains(row, `<th scope="row">`+table.all+"<") {
				total = v
				continue
			}
			sum += v
		}
		if !(total > 1000) || sum != total {
			t.Errorf("%s: rows sum to %g, the total is %g", table.label, sum, total)
		}
	}
}

func TestWarmthHoldsNumbers(t *testing.T) {
	for _, name := range site.Samples() {
		page := get(t, warmthPages(t, name), "/warmth", http.StatusOK)
		if at := notNumbers.FindStringIndex(page); at != nil {
			t.Errorf("%s holds what is no number: …%s…", name, page[max(0, at[0]-80):at[1]+20])
		}
	}
	made := madeUpSite()
	page := get(t, patientPages(t, made), "/warmth", http.StatusOK)
	if at := notNumbers.FindStringIndex(page); at != nil {
		t.Errorf("the made-up site holds what is no number: …%s…", page[max(0, at[0]-80):at[1]+20])
	}
	mustContain(t, page, "<h1>")
}

func TestWarmthInUSUnits(t *testing.T) {
	page := get(t, warmthPages(t, "twin-creeks"), "/warmth", http.StatusOK)
	mustContain(t, page, "USD a year", "air, °F", " gal", "for warming the house")
	mustLack(t, page, "tank tank")
}

func TestWarmthWithoutSurfaces(t *testing.T) {
	bare := madeUpSite()
	bare.Surfaces = nil
	for _, b := range []*site.Site{bare, {Name: "New shed"}} {
		page := get(t, patientPages(t, b), "/warmth", http.StatusOK)
		mustContain(t, page, "<h1>No surface of a zone is written down", "with area and u")
		mustLack(t, page, "<table", "<svg class", "Mind:")
	}
	// Surfaces alone, without zones, heaters or prices, must not break the page.
	bare = madeUpSite()
	bare.Heaters, bare.Prices, bare.Lamps, bare.Power = nil, site.Prices{}, nil, site.Power{}
	page := get(t, patientPages(t, bare), "/warmth", http.StatusOK)
	mustLack(t, page, "load curve", "NaN", "%!")
	// What has no place on earth is told in a sentence.
	bare = madeUpSite()
	bare.Place.Climate = "Nowhere at all"
	page = get(t, patientPages(t, bare), "/warmth", http.StatusOK)
	mustContain(t, page, "<h1>The warmth of this building cannot be worked out from this site file.</h1>")
}

// What takes long does not hold the page up.
func TestWarmthWhileHelpsAreWorkedOut(t *testing.T) {
	demo, _, err := site.Sample("skerry-house")
	if err != nil {
		t.Fatal(err)
	}
	s, h := warmHandler(t, demo, demo.Opening.Date)
	page := get(t, h, "/warmth", http.StatusOK)
	mustContain(t, page, "Heat and power cost", "What would help most is being worked out", "The fish are being worked out", `href="/warmth#helps">Look again</a>`)
	mustLack(t, page, "would save about")
	s.patience = time.Nanosecond
	s.warm = asked[*warmKept]{}
	mustContain(t, get(t, h, "/warmth", http.StatusOK), "Working: a year of the building’s warmth", `http-equiv="refresh"`)
}

func TestWarmthSentence(t *testing.T) {
	year := func() *warmth.Year {
		return &warmth.Year{Money: 1000, Heaters: []warmth.YearHeater{{Name: "coil", In: "tilapia", Tank: true}, {Name: "stove", In: "hall"}},
			Bill: warmth.Bill{Items: []warmth.BillItem{{What: "coil", In: "tilapia", Cause: "vapour of the water", KWh: 3000, Money: 350}, {What: "coil", In: "tilapia", Cause: "air of the room", KWh: 2000, Money: 250}, {What: "stove", In: "hall", Cause: "skin", KWh: 900, Money: 90}, {What: "lamps", KWh: 1000, Money: 310}}}}
	}
	soon, late := 2.0, 30.0
	lid := warmth.Variant{Key: warmth.VariantTank, Part: "tilapia", What: "Put a lid on it.", SavedMoney: 200, SavedKWh: 1800, CostHigh: 300, CostKnown: true, PaybackHighY: &soon}
	colder := warmth.Variant{Key: warmth.VariantTankSet, Part: "tilapia", What: "Keep it colder.", SavedMoney: 300, SavedKWh: 2500, PaybackHighY: &soon}
	pump := warmth.Variant{Key: warmth.VariantHeatPump, Part: "coil", What: "Buy a heat pump.", SavedMoney: 250, PaybackHighY: &late}
	shift := warmth.Variant{Key: warmth.VariantLampHours, What: "Let the lamps come on at night.", SavedMoney: 280, PaybackHighY: &soon}
	broken := warmth.Variant{Key: warmth.VariantSealing, Part: "tilapia", What: "Seal it.", Fault: "no"}
	lamps := year()
	lamps.Bill.Items[3].Money, lamps.Money = 900, 1590
	free := year()
	free.Money = 0
	for i := range free.Bill.Items {
		free.Bill.Items[i].Money = 0
	}
	unsold := lid
	unsold.SavedMoney, unsold.PaybackHighY = 0, nil
	s := &server{cfg: Config{Site: &site.Site{Currency: "EUR"}}}
	for _, c := range []struct {
		name  string
		year  *warmth.Year
		helps []warmth.Variant
		want  string
	}{
		{"not ready", year(), nil, "Heat and power cost 1\u202f000 EUR a year, 60 % of it for warming the tilapia tank."},
		{"most money first, wherever, and before what gives fish up", year(), []warmth.Variant{colder, lid, pump, shift, broken}, "Heat and power cost 1\u202f000 EUR a year, 60 % of it for warming the tilapia tank. To do first: let the lamps come on at night, which would save about 280 EUR a year."},
		{"nothing pays in time", year(), []warmth.Variant{colder, pump}, "Heat and power cost 1\u202f000 EUR a year, 60 % of it for warming the tilapia tank. Nothing that was tried and has a price pays for itself within 10 years without giving crop or fish up; most saves this: buy a heat pump, which would save about 250 EUR a year."},
		{"only what gives up", year(), []warmth.Variant{broken, colder}, "Heat and power cost 1\u202f000 EUR a year, 60 % of it for warming the tilapia tank. Only what gives crop or fish up saves; most saves this: keep it colder, which would save about 300 EUR a year."},
		{"nothing saves", year(), []warmth.Variant{broken}, "Heat and power cost 1\u202f000 EUR a year, 60 % of it for warming the tilapia tank."},
		{"a use", lamps, nil, "Heat and power cost 1\u202f590 EUR a year, 57 % of it for the lamps."},
		{"no prices", free, []warmth.Variant{unsold}, "Heat and power take 6\u202f900 kWh a year, and no price is written down; 72 % of it for warming the tilapia tank. To do first: put a lid on it, which would save about 1\u202f800 kWh a year."},
		{"nothing used", &warmth.Year{}, nil, "Nothing is heated and nothing takes power in this site file, so the year costs nothing."},
	} {
		if got := s.warmthSentence(c.year, c.helps); got != c.want {
			t.Errorf("%s:\n got %s\nwant %s", c.name, got, c.want)
		}
	}
}

func TestWarmthReasons(t *testing.T) {
	s := &server{cfg: Config{Site: &site.Site{Currency: "EUR"}}}
	on, soon := site.On(2027, 11, 6), site.On(2027, 10, 1)
	y := &warmth.Year{Zones: []warmth.YearZone{{Name: "hall", LeastC: 4, GreatestC: 31, ShortH: 1}, {Name: "end", LeastC: 16, GreatestC: 26}}, Heaters: []warmth.YearHeater{{}},
		Fuels:   []warmth.FuelUse{{HasStore: true, OrderBy: &on, Say: "Order wood."}, {HasStore: true, OrderBy: &soon, Say: "Order oil."}, {Say: "No store."}},
		Coldest: warmth.KeptDay{Date: site.On(2027, 2, 3)}}
	y.Coldest.OutC[5] = -7.3
	got := strings.Join(s.warmthReasons(y), "|")
	if want := "Order oil.|In 1 hour of the year the heaters of hall do not reach its set point.|The coldest air inside is 4 °C in hall, with −7.3 °C outside in the year’s coldest hour, on 3 February; the hottest is 31 °C in hall."; got != want {
		t.Errorf("got  %s\nwant %s", got, want)
	}
	y.Fuels[0].Late = true
	if got := s.warmthReasons(y); got[0] != "Order wood." {
		t.Errorf("what comes too late must stand first: %q", got)
	}
	y.Zones[0].ShortH, y.Fuels = 0, nil
	if got := s.warmthReasons(y); len(got) != 2 || !strings.Contains(got[0], "hold every zone") {
		t.Errorf("reasons %q", got)
	}
}

// The bars' parts hold all that is paid for, whatever is left without a hatch of its own.
func TestPartsOfBill(t *testing.T) {
	demo, _, err := site.Sample("skerry-house")
	if err != nil {
		t.Fatal(err)
	}
	_, y, err := season.Warmth(demo)
	if err != nil {
		t.Fatal(err)
	}
	lone := *y
	lone.Bill.Items = append(slices.Clone(y.Bill.Items), warmth.BillItem{What: "gates", Money: 1.4, KWh: 5})
	lone.Bill.Total += 1.4
	if all := partsOfBill(&lone); len(all) != barParts+1 || all[barParts].word != "all else" || all[barParts].money < 28 {
		t.Errorf("what has no hatch of its own is not in one: %+v", all)
	}
	parts, sum := partsOfBill(y), 0.0
	if len(parts) != barParts+1 || parts[0].word != "tilapia tank" || parts[1].word != "lamps" {
		t.Fatalf("%d parts, %+v", len(parts), parts)
	}
	for i, p := range parts {
		sum += p.money
		if i > 0 && i < barParts && p.money > parts[i-1].money {
			t.Errorf("part %d is dearer than the one before", i)
		}
	}
	if sum != math.Round(y.Money) {
		t.Errorf("the parts sum to %g, the year costs %g", sum, y.Money)
	}
}

func TestHourPanel(t *testing.T) {
	p := hourPanel{title: "Heat", unit: "heat, kW"}
	p.add("idle", [24]float64{})
	if svg, note := p.svg(); svg != "" || note != "" {
		t.Error("a panel of nothing must be empty")
	}
	for _, name := range []string{"a", "b", "c", "d", "e"} {
		p.add(name, [24]float64{3: 2, 5: math.NaN()})
	}
	svg, note := p.svg()
	if strings.Count(string(svg), `class="course`) != 4 || notNumbers.MatchString(string(svg)) || note != "Solid: a; dashed: b; dotted: c; long and short: d. In the table alone: e." {
		t.Errorf("note %q, drawing %s", note, svg)
	}
	cold := hourPanel{fit: true}
	cold.add("outside", [24]float64{0: -12.5})
	if svg, _ := cold.svg(); !strings.Contains(string(svg), "−12") && !strings.Contains(string(svg), "−15") {
		t.Errorf("the scale must reach below nothing: %s", svg)
	}
}

// warmHandler serves a site on a day, and waits for its year and for nothing else.
func warmHandler(t *testing.T, demo *site.Site, today site.Date) (*server, http.Handler) {
	t.Helper()
	cfg := madeUpConfig()
	cfg.Site, cfg.Today = demo, today
	s, err := newServer(cfg)
	if err != nil {
		t.Fatal(err)
	}
	s.patience, s.glance = time.Minute, time.Nanosecond
	h, err := s.handler()
	if err != nil {
		t.Fatal(err)
	}
	return s, h
}
