package warmth

import (
	"errors"
	"math"

	"tidebed/climate"
	"tidebed/science/air"
	"tidebed/science/fabric"
)

const (
	usualDryAbove = 0.85
	// ratedAirC and ratedAirRH are the air in which makers state what a dehumidifier
	// catches; common practice, no source.
	ratedAirC  = 30.0
	ratedAirRH = 0.80
	// coilC is the mean of its cold coil over running and thawing: air whose dew point
	// is no higher gives it nothing. Common practice, no source.
	coilC = 5.0
	// leastPadC is the wet bulb outside below which a pad is left dry, for frost.
	leastPadC = 2.0
	// usualBleed is in the middle of fabric's span.
	usualBleed = (fabric.BleedLowShare + fabric.BleedHighShare) / 2
)

// padHour is what a zone's pad can do in an hour.
type padHour struct {
	airC   float64 // behind it
	kgM3   float64 // water that a m³/s of air takes up in a second, kg
	ready  bool
	share  float64 // of the air that passed it wet, as it comes out
	before float64 // water taken up in the hour before, kg: it is in the air of this one
}

// pads finds what each zone's pad can do in this hour.
func (b *Building) pads(now *climate.Hour, outside air.Moist) error {
	for i := range b.Zones {
		z, p := &b.Zones[i], &b.pad[i]
		p.ready, p.share = false, 0
		if z.In.Pad == nil || z.padOff || z.ventM3s <= 0 || now.TempC < leastPadC || outside.WetBulbC < leastPadC {
			continue
		}
		a, err := fabric.PadAir(outside, z.In.Pad.Efficiency, 1)
		if err != nil {
			return err
		}
		p.airC, p.kgM3 = a.Air.TempC, a.WaterKgH/3600
		p.ready = now.TempC-p.airC > leastPadK
	}
	return nil
}

// leastPadK is the least cooling for which a pad's pump is started; common practice, no source.
const leastPadK = 0.5

// dried finds how much a zone's dehumidifier takes in an hour, kg: what holds the
// air at its mark, at most what it can. It stands in d when it returns.
func (z *Zone) dried(d *fabric.Damp, ratio, full, pressureKPa float64) (fabric.Dampness, error) {
	d.TakenKgH = 0
	end, err := d.Step(ratio, stepS)
	dry := z.In.Dehumidifier
	if err != nil || dry == nil {
		return end, err
	}
	mark := math.Max(full*dryAbove(dry.Above), 0)
	most := dry.CatchKgS * stepS * coilShare(math.Max(ratio, end.EndRatio), pressureKPa)
	if end.EndRatio <= mark || most <= 0 {
		return end, nil
	}
	low, lowEnd := 0.0, end.EndRatio
	d.TakenKgH = most
	if end, err = d.Step(ratio, stepS); errors.Is(err, fabric.ErrTooDry) {
		end, err = fabric.Dampness{}, nil
	}
	if err != nil || end.EndRatio >= mark {
		return end, err
	}
	high, highEnd := most, end.EndRatio
	for range 60 { // the end falls as more is taken, nearly in a straight line
		d.TakenKgH = low + (high-low)*(lowEnd-mark)/(lowEnd-highEnd)
		if end, err = d.Step(ratio, stepS); errors.Is(err, fabric.ErrTooDry) {
			high, highEnd = d.TakenKgH, 0
			continue
		}
		if err != nil {
			return end, err
		}
		if math.Abs(end.EndRatio-mark) < 1e-9 || high-low < 1e-9*most {
			break
		}
		if end.EndRatio > mark {
			low, lowEnd = d.TakenKgH, end.EndRatio
		} else {
			high, highEnd = d.TakenKgH, end.EndRatio
		}
	}
	return end, nil
}

// coilShare is what a coil catches out of air over what it catches as rated: by how
// far the air's water stands above that of the coil.
func coilShare(ratio, pressureKPa float64) float64 {
	coil := air.SaturatedRatio(coilC, pressureKPa)
	rated := ratedAirRH * air.SaturatedRatio(ratedAirC, pressureKPa)
	return math.Min(1, math.Max(0, (ratio-coil)/(rated-coil)))
}

func dryAbove(share float64) float64 {
	if share == 0 {
		return usualDryAbove
	}
	return share
}

// starts is how often heaters of all their power come on in an hour in which they
// give a mean heat, switched over a band of temperature: they warm the air and what
// is light in it by the band at what is over, and it cools by the band at what is
// lost. 0 without a band, and for heaters that never rest.
func starts(heatW, powerW, airJK, bandK float64) float64 {
	if bandK <= 0 || heatW <= 0 || heatW >= powerW {
		return 0
	}
	return stepS * heatW * (powerW - heatW) / (airJK * bandK * powerW)
}

// ventSpan is the air over which a zone's vents go from shut to wide.
func (z *Zone) ventSpan() (fromC, toC float64) { return z.ventC, z.ventC + z.bandK }
