package noise

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"github.com/swardbook/swardbook/compliance/unit"
)

// Method says how the level of a machine falls with distance.
type Method string

// The methods there are.
const (
	// Activity takes the level of an activity at 10 m, the distance over hard or
	// soft ground, screening, and the share of time it goes on: the method of
	// BS 5228-1:2009, annex F. Its words for soft ground and for screening where
	// no spectrum is known are from memory.
	Activity Method = "activity"
	// Usage takes the level of a machine at 50 ft and its usage factor: the method
	// of the United States' transit noise manual (FTA, 2006, 12.1.1), and with
	// ground factor 0 that of its highway construction noise handbook (FHWA, 2006).
	Usage Method = "usage"
	// Outdoor takes levels by octave band at 10 m and what spreading, the air, and
	// ground or a wall take off each, after ISO 9613-2:1996. Its absorption of the
	// air is that of ISO 9613-1; its ground and its wall are from memory.
	Outdoor Method = "outdoor"
)

// Methods lists them.
var Methods = []Method{Activity, Usage, Outdoor}

// Plant is one machine or activity, as it is heard at one receptor.
type Plant struct {
	Name     string
	Level    float64 // dB(A): of Activity the LAeq at 10 m; of Usage at 50 ft
	Distance float64 // m along the straight line between them, more than 0
	OnTime   float64 // share of the period it goes on, above 0 to 1
	Soft     float64 // Activity: share of soft ground between them, 0 to 1
	Screen   float64 // dB taken off by screening, 0 or more
	Ground   float64 // Usage: ground factor G, 0 for hard
	Road     *Road   // a haul road instead of Level and OnTime; Activity alone

	Max        bool    // Level is a greatest level (LAmax) and no mean: never beside means
	Octaves    *Bands  // Outdoor: at 10 m, instead of Level
	PathHeight float64 // Outdoor: mean height of the way over soft ground, m; 0 = no ground
	Wall       *Wall   // Outdoor: a wall across the way
}

// feetTo10 is what a level at 50 ft is higher by at 10 m, dB.
var feetTo10 = 20 * math.Log10(feet50/10)

// At10 is the level at 10 m of a machine whose level at 50 ft is known, over hard
// ground: 3.660 dB more.
func At10(at50ft float64) float64 { return unit.Round9(at50ft + feetTo10) }

// Road is moving plant on a haul road.
type Road struct {
	Power     float64 // sound power level of one machine, dB(A)
	PerHour   float64 // passes an hour
	SpeedKMH  float64
	ViewAngle float64 // degrees of the road that are seen; 0 = 180
}

// Term is one step from a level to the next, with its words.
type Term struct {
	Words string
	DB    float64
}

// Heard is the level of one machine at a receptor and how it came about.
type Heard struct {
	Name  string
	DB    float64
	Terms []Term // the first is the level begun with; their sum is DB
	Notes []string
}

// Predicted is the level of all of them at a receptor.
type Predicted struct {
	DB    float64 // energy sum, of greatest levels the greatest; with the façade where asked
	Each  []Heard
	Notes []string
}

// farthest is how far the method is taken without a word of caution, m.
const farthest = 300

// softFrom is the least distance at which soft ground takes off more, m.
const softFrom = 25

// feet50 is 50 ft in m.
const feet50 = 15.24

// errMixed is for greatest levels beside means: neither adds to the other.
var errMixed = errors.New("greatest levels (LAmax) and means (LAeq) stand in one list: a greatest level is no mean; take the means of all, or ask for the greatest levels apart")

// Predict gives the level at one receptor, through the usual air. façade adds 3 dB
// for a microphone 1 m before one. It is an estimate of the period the on-times
// are shares of; of greatest levels, of the loudest machine by itself.
func Predict(m Method, plant []Plant, facade bool) (*Predicted, error) {
	return PredictThrough(UsualAir, m, plant, facade)
}

// PredictThrough is Predict through an air of its own.
func PredictThrough(air Air, m Method, plant []Plant, facade bool) (*Predicted, error) {
	if len(plant) == 0 {
		return nil, errors.New("no machine is named")
	}
	path, err := pathThrough(air)
	if err != nil {
		return nil, err
	}
	out := &Predicted{}
	sum, most := 0.0, math.Inf(-1)
	for i := range plant {
		if plant[i].Max != plant[0].Max {
			return nil, errMixed
		}
		h, err := plant[i].heard(m, path)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", plant[i].Name, err)
		}
		sum += power(h.DB)
		most = max(most, h.DB)
		out.Each = append(out.Each, *h)
	}
	if out.DB = levelOf(sum); plant[0].Max {
		out.DB = most
		out.Notes = append(out.Notes, "greatest levels: that of the loudest machine, not their sum")
	}
	if facade {
		out.DB += Facade
		out.Notes = append(out.Notes, "1 m before a façade: 3 dB added")
	}
	return out, nil
}

// unsound says what of a machine does not go with a method.
func (p *Plant) unsound(m Method) error {
	switch {
	case !slices.Contains(Methods, m):
		return fmt.Errorf("there is no method %q; there are activity, usage and outdoor", m)
	case !(p.Distance > 0) || math.IsInf(p.Distance, 0):
		return errors.New("its distance is not above nothing")
	case p.Road == nil && !(p.OnTime > 0 && p.OnTime <= 1):
		return errors.New("its on-time is not above 0 and up to 100 %")
	case p.Soft < 0 || p.Soft > 1:
		return errors.New("its soft ground is not from 0 to 100 %")
	case p.Screen < 0 || p.Ground < 0 || p.PathHeight < 0:
		return errors.New("screening and ground factor take off, and with the height of the way are not below 0")
	case m == Usage && (p.Road != nil || p.Soft > 0):
		return errors.New("the usage method knows no haul road and no soft share; give a ground factor")
	case m == Activity && p.Ground > 0:
		return errors.New("the activity method knows no ground factor; give the share of soft ground")
	case m == Outdoor && p.Octaves == nil:
		return errors.New("the outdoor method needs its levels by octave band at 10 m, from 63 Hz to 8 kHz; without them take another method")
	case m == Outdoor && (p.Road != nil || p.Soft > 0 || p.Ground > 0 || p.Screen > 0):
		return errors.New("the outdoor method knows no haul road, soft share, ground factor nor screening in dB; give the height of the way and the wall")
	case m != Outdoor && (p.Octaves != nil || p.PathHeight > 0 || p.Wall != nil):
		return errors.New("octave bands, the height of the way and a wall go with the outdoor method alone")
	case p.Max && p.Road != nil:
		return errors.New("a haul road has a mean and no greatest level")
	}
	return nil
}

func (p *Plant) heard(m Method, path *outdoorPath) (*Heard, error) {
	if err := p.unsound(m); err != nil {
		return nil, err
	}
	h := &Heard{Name: p.Name}
	if p.Distance > farthest {
		h.Notes = append(h.Notes, fmt.Sprintf("beyond %d m: weather and ground make more of a difference than the method knows", farthest))
	}
	own := *p
	if own.Max {
		own.OnTime = 1 // a greatest level is as great however seldom it is
	}
	switch {
	case p.Road != nil:
		if err := h.road(p); err != nil {
			return nil, err
		}
	case m == Outdoor:
		if err := h.outdoor(&own, path); err != nil {
			return nil, err
		}
	case m == Usage:
		h.add("level at 50 ft", p.Level)
		h.add(fmt.Sprintf("on for %.4g %% of the time", 100*own.OnTime), 10*math.Log10(own.OnTime))
		h.add(fmt.Sprintf("distance %.5g m, 20 lg(D/50 ft)", p.Distance), -20*math.Log10(p.Distance/feet50))
		if p.Ground > 0 {
			h.add(fmt.Sprintf("ground factor %.3g, 10·G·lg(D/50 ft)", p.Ground), -10*p.Ground*math.Log10(p.Distance/feet50))
		}
		if p.Screen > 0 {
			h.add("screening", -p.Screen)
		}
	default:
		h.add("level at 10 m", p.Level)
		h.ground(p)
		h.add(fmt.Sprintf("on for %.4g %% of the time", 100*own.OnTime), 10*math.Log10(own.OnTime))
	}
	for _, t := range h.Terms {
		h.DB += t.DB
	}
	return h, nil
}

func (h *Heard) add(words string, db float64) { h.Terms = append(h.Terms, Term{words, db}) }

// ground takes off distance, soft ground and screening. Soft ground and a screen
// are not added: whichever takes off more is taken.
func (h *Heard) ground(p *Plant) {
	hard, soft := 20*math.Log10(p.Distance/10), 0.0
	if p.Distance >= softFrom {
		soft = p.Soft * (25*math.Log10(p.Distance/10) - 2 - hard)
	} else if p.Soft > 0 {
		h.Notes = append(h.Notes, fmt.Sprintf("nearer than %d m soft ground takes off no more than hard", softFrom))
	}
	h.add(fmt.Sprintf("distance %.5g m over hard ground, 20 lg(R/10)", p.Distance), -hard)
	switch {
	case p.Screen > 0 && p.Screen >= soft:
		h.add("screening", -p.Screen)
		if soft > 0 {
			h.Notes = append(h.Notes, "soft ground and screening are not added: screening takes off more")
		}
	case soft > 0:
		h.add(fmt.Sprintf("%.4g %% of it soft ground, 25 lg(R/10) − 2", 100*p.Soft), -soft)
		if p.Screen > 0 {
			h.Notes = append(h.Notes, "soft ground and screening are not added: soft ground takes off more")
		}
	}
}

// road is LWA − 33 + 10 lg Q − 10 lg V − 10 lg d, with the angle of view.
func (h *Heard) road(p *Plant) error {
	r := p.Road
	if !(r.PerHour > 0 && r.SpeedKMH > 0) || r.ViewAngle < 0 || r.ViewAngle > 180 {
		return errors.New("its passes an hour and speed are not above nothing, or its angle of view not from 0 to 180 degrees")
	}
	h.add("sound power level of one machine", r.Power)
	h.add("passing by", -33)
	h.add(fmt.Sprintf("%.4g passes an hour", r.PerHour), 10*math.Log10(r.PerHour))
	h.add(fmt.Sprintf("at %.4g km/h", r.SpeedKMH), -10*math.Log10(r.SpeedKMH))
	h.add(fmt.Sprintf("distance %.5g m", p.Distance), -10*math.Log10(p.Distance))
	if r.ViewAngle > 0 && r.ViewAngle < 180 {
		h.add(fmt.Sprintf("%.4g° of it in view", r.ViewAngle), 10*math.Log10(r.ViewAngle/180))
	}
	if p.Screen > 0 {
		h.add("screening", -p.Screen)
	}
	return nil
}
