package tin

// partition orders the sites so that each half of the list is one side of a
// cut, halves of halves of the next cut across it, down to two or three
// sites, which stand in order by x, then y. The order is a function of the set.
func partition(s []site, axis, fork int) {
	if len(s) <= 3 {
		sortFew(s)
		return
	}
	mid := len(s) / 2
	if axis == 0 {
		selectX(s, mid)
	} else {
		selectY(s, mid)
	}
	if fork == 0 {
		partition(s[:mid], 1-axis, 0)
		partition(s[mid:], 1-axis, 0)
		return
	}
	both(fork,
		func(f int) { partition(s[:mid], 1-axis, f) },
		func(f int) { partition(s[mid:], 1-axis, f) })
}

func lessX(a, b *site) bool { return a.x < b.x || (a.x == b.x && a.y < b.y) }

func lessY(a, b *site) bool { return a.y < b.y || (a.y == b.y && a.x < b.x) }

func sortFew(s []site) {
	for i := 1; i < len(s); i++ {
		for j := i; j > 0 && lessX(&s[j], &s[j-1]); j-- {
			s[j], s[j-1] = s[j-1], s[j]
		}
	}
}

// selectX moves the k sites first in order by x, then y, to the front.
// Quickselect with the median of three, or of nine for long lists. All sites
// differ, so every round drops at least the pivot.
func selectX(s []site, k int) {
	for len(s) > 3 {
		p := s[pivotIndex(s, lessX)]
		i, j := 0, len(s)-1
		for i <= j {
			for s[i].x < p.x || (s[i].x == p.x && s[i].y < p.y) {
				i++
			}
			for p.x < s[j].x || (p.x == s[j].x && p.y < s[j].y) {
				j--
			}
			if i <= j {
				s[i], s[j] = s[j], s[i]
				i++
				j--
			}
		}
		switch {
		case k <= j:
			s = s[:j+1]
		case k >= i:
			s, k = s[i:], k-i
		default:
			return
		}
	}
	sortFew(s)
}

// selectY is selectX by y, then x.
func selectY(s []site, k int) {
	for len(s) > 3 {
		p := s[pivotIndex(s, lessY)]
		i, j := 0, len(s)-1
		for i <= j {
			for s[i].y < p.y || (s[i].y == p.y && s[i].x < p.x) {
				i++
			}
			for p.y < s[j].y || (p.y == s[j].y && p.x < s[j].x) {
				j--
			}
			if i <= j {
				s[i], s[j] = s[j], s[i]
				i++
				j--
			}
		}
		switch {
		case k <= j:
			s = s[:j+1]
		case k >= i:
			s, k = s[i:], k-i
		default:
			return
		}
	}
	for i := 1; i < len(s); i++ {
		for j := i; j > 0 && lessY(&s[j], &s[j-1]); j-- {
			s[j], s[j-1] = s[j-1], s[j]
		}
	}
}

func pivotIndex(s []site, less func(a, b *site) bool) int {
	n := len(s)
	if n < 64 {
		return median3(s, 0, n/2, n-1, less)
	}
	q := n / 8
	return median3(s,
		median3(s, 0, q, 2*q, less),
		median3(s, n/2-q, n/2, n/2+q, less),
		median3(s, n-1-2*q, n-1-q, n-1, less), less)
}

func median3(s []site, a, b, c int, less func(a, b *site) bool) int {
	if less(&s[b], &s[a]) {
		a, b = b, a
	}
	if less(&s[c], &s[b]) {
		b = c
		if less(&s[b], &s[a]) {
			b = a
		}
	}
	return b
}
