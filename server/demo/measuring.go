package demo

import (
	"fmt"
	"time"
)

// measuring writes the instruments, where they stood, their checks and the
// readings rejected.
func (s *scene) measuring() error {
	instruments := newRegister("id", "at", "title", "maker", "model", "serial", "class", "recorded")
	deployments := newRegister("id", "at", "until", "places", "instrument", "height [m]", "position", "facade_distance [m]", "settings", "recorded")
	calibrations := newRegister("at", "instrument", "laboratory", "certificate", "valid_until", "outcome", "recorded")
	for _, one := range []struct{ ref, title, serial, class, place, deployment, height, position, wall, settings, until string }{
		{"SLM1", "Sound level logger", "SL-20418", "class 1", "NM1", "DN1", "1.5", "free field", "12", "A, fast, 15 minutes", "2026-07-01 00:00"},
		{"SLM2", "Sound level logger", "SL-20433", "class 1", "NM2", "DN2", "1.5", "free field", "9", "A, fast, 15 minutes", "2026-07-01 00:00"},
		{"PMD1", "Particle monitor", "PM-0771", "indicative", "DM1", "DD1", "2.0", "on a mast", "", "PM10, 1 hour", "2026-07-01 00:00"},
		{"FLW1", "Pipe flow meter", "FM-1190", "", "OUT1", "DF1", "", "in the pipe", "", "15 minutes", "2026-05-04 00:00"},
		{"TRB1", "Turbidity probe", "TB-3307", "", "OUT1", "DT1", "", "in the water", "", "white light, 15 minutes", "2026-05-04 00:00"},
	} {
		told := s.stamp(s.at("2025-05-30 12:00"))
		instruments.row(one.ref, "2025-05-30", one.title, "unnamed maker", "", one.serial, one.class, told)
		deployments.row(one.deployment, s.stamp(s.at("2025-06-01 12:00")), s.stamp(s.at(one.until)), one.place, one.ref, one.height, one.position, one.wall, one.settings, s.stamp(s.at(one.until).Add(9*time.Hour)))
		calibrations.row("2025-05-12", one.ref, "Northbeck Calibration", "NC-"+one.serial[len(one.serial)-4:]+"-25", "2027-05-11", "within tolerance", told)
	}
	for _, t := range []struct {
		name string
		*register
	}{{"instruments", instruments}, {"deployments", deployments}, {"calibrations", calibrations}} {
		if err := s.table("registers/"+t.name+".csv", t.register); err != nil {
			return err
		}
	}
	return s.fieldChecks()
}

// fieldChecks writes the monthly calibrator checks of the sound level loggers,
// and takes out the quarter of an hour each takes.
func (s *scene) fieldChecks() error {
	checks := newRegister("at", "places", "instrument", "deployment", "when", "reference", "expected", "shown", "unit", "outcome", "clock_offset [s]", "battery [%]", "recorded")
	rejections := newRegister("at", "until", "channel", "reason", "note", "recorded")
	rng := s.rng("field checks")
	for month := s.day("2025-06-01"); month.Before(s.day("2026-07-01")); month = month.AddDate(0, 1, 0) {
		d := month.AddDate(0, 0, 4)
		for !s.working(d) {
			d = d.AddDate(0, 0, 1)
		}
		for i := 1; i <= 2; i++ {
			at := d.Add(time.Duration(600+60*i) * time.Minute)
			checks.row(s.stamp(at), fmt.Sprintf("NM%d", i), fmt.Sprintf("SLM%d", i), fmt.Sprintf("DN%d", i), "during", "calibrator CB-118", "94.0",
				fmt.Sprintf("%.1f", 93.9+0.1*float64(rng.IntN(3))), "dB", "within tolerance", fmt.Sprint(rng.IntN(7)-3), fmt.Sprint(70+rng.IntN(30)), s.stamp(at.Add(20*time.Minute)))
			rejections.row(s.stamp(at), s.stamp(at.Add(15*time.Minute)), fmt.Sprintf("NM%d-LAEQ", i), "calibrating", "Calibrator on the microphone.", s.stamp(at.Add(25*time.Minute)))
		}
	}
	if err := s.table("registers/field_checks.csv", checks); err != nil {
		return err
	}
	return s.table("registers/rejections.csv", rejections)
}
