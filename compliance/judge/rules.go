package judge

import (
	"github.com/swardbook/swardbook/compliance/calendar"
	"github.com/swardbook/swardbook/compliance/permit"
	"github.com/swardbook/swardbook/compliance/quantity"
)

// firstRules lists what rules 1 left to be judged by hand, so that a pack that
// was sealed under them is judged again as it was.
func (h *hearing) firstRules(c *permit.Condition) error {
	if h.s.opts.Rules > 1 {
		return nil
	}
	switch {
	case c.Place.Mode == permit.Any && len(c.Place.Codes) > 1:
		return notBuilt("any of several places")
	case c.Place.Mode == permit.MeanOf && len(c.Place.Codes) > 1:
		return notBuilt("mean of several places")
	case c.Place.BufferM != "":
		return notBuilt("a strip around a feature")
	case c.Phase != "":
		return notBuilt("in force during a phase only")
	case c.Quota != nil && c.InPlace == "":
		return notBuilt("quota of a condition that stands in place of none")
	}
	for i := range c.Limits {
		if f := c.Limits[i].Form; f != permit.Constant && f != "" {
			return notBuilt("limit of the form " + string(f))
		}
	}
	return nil
}

// firstRulesOf lists the same for rules that go by the quantity, once it is
// known.
func (h *hearing) firstRulesOf(c *permit.Condition) error {
	if h.s.opts.Rules > 1 {
		return nil
	}
	ofReadings := c.Kind == permit.Measured && h.q != nil && h.q.Form == quantity.Series
	switch n := c.Statistic.Name; {
	case c.Kind == permit.Interval && c.Schedule == nil:
		return notBuilt("acts inside an area")
	case ofReadings && (selects(n) || n == permit.FlowWeighted):
		return notBuilt(string(n) + " of readings")
	case c.Kind == permit.Measured && n == permit.Share:
		return notBuilt(string(n) + " of single results")
	case n == permit.LowerBound:
		return notBuilt(string(n))
	case c.Window.Kind == calendar.RollingHour:
		return notBuilt("windows of " + c.Window.String() + " for this quantity")
	}
	return nil
}
