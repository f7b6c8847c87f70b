package judge

import (
	"github.com/swardbook/swardbook/compliance/permit"
)

// limits returns the limits of an outcome's version as they applied to its
// window, with every number filled in.
func (h *hearing) limits(o *outcome) ([]permit.Limit, error) {
	list := o.ver.cond.Limits
	plain := true
	for i := range list {
		plain = plain && (list[i].Form == permit.Constant || list[i].Form == "")
	}
	if plain {
		return list, nil
	}
	out := make([]permit.Limit, len(list))
	for i := range list {
		l, err := h.resolved(list[i])
		if err != nil {
			return nil, err
		}
		out[i] = l
	}
	return out, nil
}

func (h *hearing) resolved(l permit.Limit) (permit.Limit, error) {
	if l.Form == permit.Constant || l.Form == "" {
		return l, nil
	}
	return l, notBuilt("limit of the form " + string(l.Form))
}
