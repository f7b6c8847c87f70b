package calendar

import (
	"math"
	"time"
)

// SunTimes are the almanac times of a date at a place, in UTC, to the second.
type SunTimes struct {
	Rise, Set  time.Time // upper limb on a level horizon
	Dawn, Dusk time.Time // civil twilight: centre 6° below it
	Sun        bool      // the sun both rises and sets that day
	Twilight   bool      // dawn and dusk both exist
}

// Zenith angles in degrees. 90.833° is 90° with 34′ of refraction and 16′ of
// the sun's half breadth; 96° is the definition of civil twilight.
// Source: NOAA solar calculator.
const (
	riseZenith = 90.833
	dawnZenith = 96.0
)

// Sun returns the almanac times of a civil date at a place, latitude degrees
// north and longitude degrees east (-180 to 180). It is the sun of a level
// horizon at sea level: hills, trees and height change the visible one.
// Where the sun does not rise or set that day, Sun is false and the times are
// zero, never midnight. Within a minute of the almanac below 65° of latitude.
//
// Source: equations of the NOAA solar calculator (after Meeus, Astronomical
// Algorithms), taken anew at the instant of each event.
func Sun(d Date, latDeg, lonDeg float64) SunTimes {
	noon := d.utc().Add(12*time.Hour - time.Duration(lonDeg/15*float64(time.Hour)))
	var s SunTimes
	var rises, sets, dawns, dusks bool
	s.Rise, rises = sunEvent(noon, latDeg, lonDeg, riseZenith, -1)
	s.Set, sets = sunEvent(noon, latDeg, lonDeg, riseZenith, 1)
	s.Dawn, dawns = sunEvent(noon, latDeg, lonDeg, dawnZenith, -1)
	s.Dusk, dusks = sunEvent(noon, latDeg, lonDeg, dawnZenith, 1)
	s.Sun, s.Twilight = rises && sets, dawns && dusks
	if !s.Sun {
		s.Rise, s.Set = time.Time{}, time.Time{}
	}
	if !s.Twilight {
		s.Dawn, s.Dusk = time.Time{}, time.Time{}
	}
	return s
}

// sunEvent finds the instant near noon at which the sun stands at the zenith
// angle, before noon for side -1 and after it for 1.
func sunEvent(noon time.Time, latDeg, lonDeg, zenithDeg, side float64) (time.Time, bool) {
	t := noon
	lat := latDeg * math.Pi / 180
	for range 6 {
		declination, equation := solar(t)
		cosH := (math.Cos(zenithDeg*math.Pi/180) - math.Sin(lat)*math.Sin(declination)) / (math.Cos(lat) * math.Cos(declination))
		if !(cosH >= -1 && cosH <= 1) {
			return time.Time{}, false
		}
		hourAngle := math.Acos(cosH) * 180 / math.Pi
		// Minutes from the mean noon of the meridian to the event.
		minutes := 4*side*hourAngle - equation
		t = noon.Add(time.Duration(minutes * float64(time.Minute)))
	}
	return t.Round(time.Second), true
}

// solar returns the sun's declination in radians and the equation of time in
// minutes at an instant.
func solar(t time.Time) (declination, equation float64) {
	const rad = math.Pi / 180
	jd := float64(t.Unix())/86400 + 2440587.5
	c := (jd - 2451545) / 36525 // Julian centuries since 2000
	meanLon := math.Mod(280.46646+c*(36000.76983+c*0.0003032), 360)
	anomaly := (357.52911 + c*(35999.05029-0.0001537*c)) * rad
	eccentricity := 0.016708634 - c*(0.000042037+0.0000001267*c)
	centre := math.Sin(anomaly)*(1.914602-c*(0.004817+0.000014*c)) +
		math.Sin(2*anomaly)*(0.019993-0.000101*c) + math.Sin(3*anomaly)*0.000289
	node := (125.04 - 1934.136*c) * rad
	apparent := (meanLon + centre - 0.00569 - 0.00478*math.Sin(node)) * rad
	tilt := (23 + (26+(21.448-c*(46.815+c*(0.00059-c*0.001813)))/60)/60 + 0.00256*math.Cos(node)) * rad
	declination = math.Asin(math.Sin(tilt) * math.Sin(apparent))

	y := math.Tan(tilt/2) * math.Tan(tilt/2)
	l := meanLon * rad
	e := y*math.Sin(2*l) - 2*eccentricity*math.Sin(anomaly) + 4*eccentricity*y*math.Sin(anomaly)*math.Cos(2*l) -
		0.5*y*y*math.Sin(4*l) - 1.25*eccentricity*eccentricity*math.Sin(2*anomaly)
	return declination, 4 * e / rad
}
