package permit

import "fmt"

// CheckTogether tells what in several notices does not go together: two of one
// reference, a variation of a notice that is not among them, a condition of a
// clause that neither lists, or removed where there is none.
func CheckTogether(notices []*Notice) Faults {
	var out Faults
	seen := map[string]bool{}
	ids := map[string]bool{}     // root reference and id
	clauses := map[string]bool{} // root reference and number
	roots := rootOf(notices)
	for i, n := range notices {
		root := notices[roots[i]].Reference
		for _, c := range n.Conditions {
			ids[root+"\n"+c.ID] = true
		}
		for _, c := range n.Clauses {
			clauses[root+"\n"+c.Number] = true
		}
	}
	for i, n := range notices {
		k := &checker{n: n}
		if seen[n.Reference] {
			k.note(n.Where, "permit", "reference", fmt.Sprintf("another notice has the reference %s", n.Reference), "give a variation its own reference and name the notice it varies")
		}
		seen[n.Reference] = true
		if n.Varies != "" && roots[i] == i {
			k.note(n.Where, "permit", "varies", fmt.Sprintf("the notice %s is not on file", n.Varies), "enter it first, or correct the reference")
		}
		root := notices[roots[i]].Reference + "\n"
		for j, c := range n.Conditions {
			if n.Varies != "" && !clauses[root+c.Clause] {
				k.note(c.Where, fmt.Sprintf("conditions[%d]", j), "clause", fmt.Sprintf("clause %s is listed neither here nor in what this varies", c.Clause), "list it under clauses")
			}
		}
		for _, id := range n.Removes {
			if !ids[root+id] {
				k.note(n.Where, "", "removes", fmt.Sprintf("there is no condition %s to remove", id), "correct the id")
			}
		}
		out = append(out, k.faults...)
	}
	return out
}
