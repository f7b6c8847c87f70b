package book

import "testing"

func TestMembers(t *testing.T) {
	o, err := ParseObject([]byte(`{"s":"x","n":7,"b":true,"l":[{"a":"1"},"odd",{"a":"2"}],"o":{}}`))
	if err != nil {
		t.Fatal(err)
	}
	if o.Text("s") != "x" || o.Text("n") != "" || o.Text("none") != "" {
		t.Error("texts")
	}
	if o.Integer("n") != 7 || o.Integer("s") != 0 || o.Integer("none") != 0 {
		t.Error("whole numbers")
	}
	if !o.Flag("b") || o.Flag("s") || o.Flag("none") {
		t.Error("flags")
	}
	if !o.Has("o") || o.Has("none") {
		t.Error("what is there")
	}
	list := o.Objects("l")
	if len(list) != 3 || list[0].Text("a") != "1" || list[1] != nil || list[2].Text("a") != "2" || o.Objects("s") != nil || o.Objects("none") != nil {
		t.Errorf("lists: %v", list)
	}
	var nothing Object // an erased body
	if nothing.Text("s") != "" || nothing.Has("s") || nothing.Objects("l") != nil {
		t.Error("an erased body says something")
	}
}
