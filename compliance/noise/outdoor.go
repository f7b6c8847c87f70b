package noise

import (
	"errors"
	"fmt"
	"math"

	"github.com/swardbook/swardbook/compliance/unit"
)

// Bands are levels by octave band from 63 Hz to 8 kHz, dB, not weighted.
type Bands [8]float64

// nominal are the nominal mid-band frequencies, Hz.
var nominal = Bands{63, 125, 250, 500, 1000, 2000, 4000, 8000}

// aWeights are the A-weightings of the octave bands in dB (IEC 61672-1, nominal).
var aWeights = Bands{-26.2, -16.1, -8.6, -3.2, 0, 1.2, 1.0, -1.1}

// AWeighted is the A-weighted level in dB of levels by octave band.
func (b Bands) AWeighted() float64 {
	e := 0.0
	for i, l := range b {
		e += power(l + aWeights[i])
	}
	return unit.Round9(levelOf(e))
}

// Air is the air that sound travels through.
type Air struct {
	Celsius  float64
	Humidity float64 // relative, per cent
	KPa      float64 // pressure
}

// UsualAir is 10 °C, 70 % and 101.325 kPa, an air of ISO 9613-2, table 2.
var UsualAir = Air{10, 70, referenceKPa}

const (
	referenceKPa    = 101.325
	referenceKelvin = 293.15
	tripleKelvin    = 273.16
)

// ErrAir is for an air outside what ISO 9613-1 is for.
var ErrAir = errors.New("temperature from -20 to 50 °C, humidity from 10 to 100 % and pressure from 50 to 200 kPa are known")

// Absorption is what the air takes off in dB/km by octave band, at the exact
// mid-band frequencies 1000·10^(0.3k) Hz: ISO 9613-1:1993, as transcribed.
func (a Air) Absorption() (Bands, error) {
	var out Bands
	if !(a.Celsius >= -20 && a.Celsius <= 50 && a.Humidity >= 10 && a.Humidity <= 100 && a.KPa >= 50 && a.KPa <= 200) {
		return out, ErrAir
	}
	kelvin, p := a.Celsius+273.15, a.KPa/referenceKPa
	t := kelvin / referenceKelvin
	saturation := math.Pow(10, -6.8346*math.Pow(tripleKelvin/kelvin, 1.261)+4.6151)
	h := a.Humidity * saturation / p // molar concentration of water vapour, per cent
	oxygen := p * (24 + 4.04e4*h*(0.02+h)/(0.391+h))
	nitrogen := p * math.Pow(t, -0.5) * (9 + 280*h*math.Exp(-4.170*(math.Pow(t, -1.0/3)-1)))
	for i := range out {
		f := 1000 * math.Pow(10, 0.3*float64(i-4))
		classical := 1.84e-11 / p * math.Sqrt(t)
		relaxing := math.Pow(t, -2.5) * (0.01275*math.Exp(-2239.1/kelvin)/(oxygen+f*f/oxygen) + 0.1068*math.Exp(-3352/kelvin)/(nitrogen+f*f/nitrogen))
		out[i] = unit.Round9(1000 * 8.686 * f * f * (classical + relaxing))
	}
	return out, nil
}

// GroundOnWeighted is what soft ground takes off an A-weighted level in dB over a
// path at a mean height in m and a distance in m: 4.8 - (2h/d)(17 + 300/d), not
// below 0 (the A-weighted alternative of ISO 9613-2, from memory).
func GroundOnWeighted(height, metres float64) float64 {
	return unit.Round9(math.Max(0, 4.8-float64(2*height/metres*(17+300/metres))))
}

// Wall is a screen across the path, seen from the side: heights above the straight
// ground, and distances along it, in m.
type Wall struct {
	Source, Receiver, Height float64
	FromSource, ToReceiver   float64
}

// soundSpeed in m/s, as ISO 9613-2 takes it for wavelengths.
const soundSpeed = 340

// mostByEdge is the most one edge takes off, dB (ISO 9613-2, 7.4, as transcribed).
const mostByEdge = 20

// Detour is how much longer the way over the top is than the straight one, m;
// below 0 where the straight way passes over it. It fails for figures that are no
// wall.
func (w Wall) Detour() (detour, toTop, fromTop, straight float64, err error) {
	if !(w.FromSource > 0 && w.ToReceiver > 0) || w.Source < 0 || w.Receiver < 0 || !(w.Height > 0) {
		return 0, 0, 0, 0, errors.New("the wall needs its height and both its distances above 0, and heights of source and receiver not below 0")
	}
	toTop = math.Hypot(w.FromSource, w.Height-w.Source)
	fromTop = math.Hypot(w.ToReceiver, w.Height-w.Receiver)
	straight = math.Hypot(w.FromSource+w.ToReceiver, w.Source-w.Receiver)
	detour = toTop + fromTop - straight
	along := w.Source + float64((w.Receiver-w.Source)*w.FromSource/(w.FromSource+w.ToReceiver))
	if w.Height < along {
		detour = -detour
	}
	return detour, toTop, fromTop, straight, nil
}

// Screening is what the wall takes off by octave band, dB: 10 lg(3 + 20/λ·z·Kmet)
// with Kmet = exp(-√(dss·dsr·d/2z)/2000), at most 20 dB (ISO 9613-2, 7.4: the
// limits as transcribed, the equations from memory). A wall that the straight way
// passes over takes off nothing here.
func (w Wall) Screening() (Bands, error) {
	var out Bands
	z, toTop, fromTop, straight, err := w.Detour()
	if err != nil || z <= 0 {
		return out, err
	}
	weather := math.Exp(-math.Sqrt(toTop*fromTop*straight/(2*z)) / 2000)
	for i := range out {
		wavelength := soundSpeed / nominal[i]
		out[i] = unit.Round9(math.Min(mostByEdge, levelOf(3+float64(20/wavelength*z*weather))))
	}
	return out, nil
}

// FTABarrier is what a barrier takes off by the United States' transit noise manual
// (FTA, 2006, example 6-5), by lengths in ft: source to top, top to receiver, and
// source to receiver; with ground factors without and with the barrier. The
// insertion loss is the attenuation less the ground's effect that the barrier does
// away with.
func FTABarrier(toTop, fromTop, straight, groundWithout, groundWith float64) (attenuation, insertionLoss float64, err error) {
	detour := toTop + fromTop - straight
	if !(detour > 0) || !(straight > 0) {
		return 0, 0, errors.New("the way over the barrier is not longer than the straight one")
	}
	root := math.Sqrt(detour)
	attenuation = math.Min(15, float64(20*math.Log10(2.51*root/math.Tanh(4.46*root)))+5)
	insertionLoss = attenuation - float64(10*(groundWithout-groundWith)*math.Log10(straight/50))
	return unit.Round9(attenuation), unit.Round9(insertionLoss), nil
}

// outdoorPath is the air between machine and receptor.
type outdoorPath struct {
	air  Bands // dB/km
	what string
}

func pathThrough(a Air) (*outdoorPath, error) {
	alpha, err := a.Absorption()
	if err != nil {
		return nil, err
	}
	return &outdoorPath{alpha, fmt.Sprintf("%.4g °C, %.4g %%", a.Celsius, a.Humidity)}, nil
}

// outdoor hears a machine by its octave bands: spreading, air and, where they are
// given, ground or wall, whichever takes off more.
func (h *Heard) outdoor(p *Plant, path *outdoorPath) error {
	at := *p.Octaves
	level := at.AWeighted()
	h.add("LAeq at 10 m, of its octave bands", level)
	step := func(words string, bands Bands) {
		for i := range at {
			at[i] -= bands[i]
		}
		now := at.AWeighted()
		h.add(words, now-level)
		level = now
	}
	spread := 20 * math.Log10(p.Distance/10)
	h.add(fmt.Sprintf("distance %.5g m, 20 lg(R/10)", p.Distance), -spread)
	var air Bands
	for i, a := range path.air {
		air[i] = a * (p.Distance - 10) / 1000
	}
	if p.Distance > 10 {
		step(fmt.Sprintf("air of %s over the way beyond 10 m", path.what), air)
	}
	ground := 0.0
	if p.PathHeight > 0 {
		ground = GroundOnWeighted(p.PathHeight, p.Distance)
	} else {
		h.Notes = append(h.Notes, "the ground is not included: the mean height of the way over it is not given")
	}
	if p.Wall != nil {
		bands, err := p.Wall.Screening()
		if err != nil {
			return err
		}
		before := at
		for i := range before {
			before[i] -= bands[i]
		}
		if off := level - before.AWeighted(); off > ground {
			step("wall, by octave bands", bands)
			if ground > 0 {
				h.Notes = append(h.Notes, "ground and wall are not added: the wall takes off more")
			}
			ground = 0
		} else if off > 0 {
			h.Notes = append(h.Notes, "ground and wall are not added: the ground takes off more")
		}
	}
	if ground > 0 {
		h.add(fmt.Sprintf("soft ground, mean height %.3g m", p.PathHeight), -ground)
	}
	h.Notes = append(h.Notes, "reflections, woods and buildings between are not included")
	h.add(fmt.Sprintf("on for %.4g %% of the time", 100*p.OnTime), 10*math.Log10(p.OnTime))
	return nil
}
