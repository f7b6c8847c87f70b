package judge

import "github.com/swardbook/swardbook/compliance/permit"

// limits returns the limits of an outcome's version as they applied to its
// window. Limits whose number comes from elsewhere, such as a background, are
// not built; ready says so before any window is judged.
func (h *hearing) limits(o *outcome) ([]permit.Limit, error) {
	for i := range o.ver.cond.Limits {
		if f := o.ver.cond.Limits[i].Form; f != permit.Constant && f != "" {
			return nil, notBuilt("limit of the form " + string(f))
		}
	}
	return o.ver.cond.Limits, nil
}
