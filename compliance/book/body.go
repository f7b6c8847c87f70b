package book

// Text returns a text member, "" when there is none.
func (o Object) Text(key string) string {
	s, _ := o[key].(string)
	return s
}

// Integer returns a whole-number member, 0 when there is none.
func (o Object) Integer(key string) int64 {
	n, _ := o[key].(int64)
	return n
}

// Flag returns a true-or-false member, false when there is none.
func (o Object) Flag(key string) bool {
	b, _ := o[key].(bool)
	return b
}

// Has tells whether the member stands in the object.
func (o Object) Has(key string) bool {
	_, there := o[key]
	return there
}

// Objects returns the objects of a list member, in order; nil when there is
// none. Items that are no objects come back empty, so that places stay right.
func (o Object) Objects(key string) []Object {
	list, _ := o[key].([]any)
	var out []Object
	for _, item := range list {
		one, _ := item.(Object)
		out = append(out, one)
	}
	return out
}
