package folder

import (
	"encoding/json"
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"github.com/swardbook/swardbook/compliance/book"
)

var resultForm = regexp.MustCompile(`^[<>]?-?\d+(\.\d+)?$`)

// parseCell turns a cell into the value of a field. Blank cells are absent
// fields and never come here.
func (l *loader) parseCell(fd *book.Field, cell string) (any, error) {
	if fd.Type != book.Text && fd.Type != book.Prose {
		cell = strings.TrimSpace(cell)
	}
	switch fd.Type {
	case book.Decimal:
		if !book.IsDecimal(cell) {
			return nil, fmt.Errorf("%q is not a decimal such as 12.50, with a point and no unit", cell)
		}
	case book.Result:
		if !resultForm.MatchString(cell) {
			return nil, fmt.Errorf("%q is not a result such as 12.5 or <0.05", cell)
		}
	case book.Integer:
		n, err := strconv.ParseInt(cell, 10, 64)
		if err != nil || n > book.MaxInteger || n < -book.MaxInteger || strconv.FormatInt(n, 10) != cell {
			return nil, fmt.Errorf("%q is not a whole number", cell)
		}
		return n, nil
	case book.Flag:
		return parseFlag(cell)
	case book.Instant:
		return parseInstantCell(cell, l.site.Loc)
	case book.File:
		h, err := l.file(cell)
		if err != nil {
			return nil, err
		}
		return h.String(), nil
	case book.List, book.Group:
		return l.parseJSONCell(fd, cell)
	}
	return cell, nil
}

func parseFlag(cell string) (bool, error) {
	switch cell {
	case "yes", "true":
		return true, nil
	case "no", "false":
		return false, nil
	}
	return false, fmt.Errorf("%q is neither yes nor no", cell)
}

// parseJSONCell reads a list or a group written as JSON.
func (l *loader) parseJSONCell(fd *book.Field, cell string) (any, error) {
	o, err := book.ParseObject([]byte(`{"value":` + cell + `}`))
	if err != nil {
		var syntax *book.SyntaxError
		if errors.As(err, &syntax) {
			return nil, fmt.Errorf("not JSON as entries hold it: %s", syntax.Reason)
		}
		return nil, err
	}
	return l.settleJSON(fd, o["value"])
}

// settleJSON turns paths of files inside a list or group into hashes.
func (l *loader) settleJSON(fd *book.Field, v any) (any, error) {
	switch fd.Type {
	case book.List:
		list, ok := v.([]any)
		if !ok {
			return nil, errors.New("a JSON list is wanted, such as [{…}]")
		}
		for i := range list {
			one, err := l.settleJSON(&book.Field{Type: book.Group, Fields: fd.Fields}, list[i])
			if err != nil {
				return nil, fmt.Errorf("item %d: %w", i+1, err)
			}
			list[i] = one
		}
		return list, nil
	case book.Group:
		o, ok := v.(book.Object)
		if !ok {
			return v, nil // what else a list may hold is for the kind to say
		}
		for i := range fd.Fields {
			sub := &fd.Fields[i]
			if o[sub.Name] == nil {
				continue
			}
			one, err := l.settleJSON(sub, o[sub.Name])
			if err != nil {
				return nil, fmt.Errorf("%s: %w", sub.Name, err)
			}
			o[sub.Name] = one
		}
		return o, nil
	case book.File:
		path, ok := v.(string)
		if !ok {
			return nil, errors.New("the path of a file is wanted")
		}
		h, err := l.file(path)
		if err != nil {
			return nil, err
		}
		return h.String(), nil
	}
	return v, nil
}

// formatCell writes the value of a field as parseCell reads it back.
func (w *writer) formatCell(fd *book.Field, v any) string {
	switch fd.Type {
	case book.Flag:
		if v == true {
			return "yes"
		}
		return "no"
	case book.Instant:
		if s, ok := v.(string); ok {
			return formatInstantCell(s, w.loc)
		}
	case book.File:
		if s, ok := v.(string); ok {
			return w.pathOfText(s)
		}
	case book.List, book.Group:
		return jsonText(w.settleBack(fd, v))
	}
	switch v := v.(type) {
	case string:
		return v
	case int64:
		return strconv.FormatInt(v, 10)
	case bool:
		return strconv.FormatBool(v)
	}
	return jsonText(v)
}

// settleBack puts paths where a list or group holds hashes of files.
func (w *writer) settleBack(fd *book.Field, v any) any {
	switch v := v.(type) {
	case []any:
		out := make([]any, len(v))
		for i := range v {
			out[i] = w.settleBack(&book.Field{Type: book.Group, Fields: fd.Fields}, v[i])
		}
		return out
	case book.Object:
		out := book.Object{}
		for k, e := range v {
			out[k] = e
			if i := slices.IndexFunc(fd.Fields, func(sub book.Field) bool { return sub.Name == k }); i >= 0 {
				out[k] = w.settleBack(&fd.Fields[i], e)
			}
		}
		return out
	case string:
		if fd.Type == book.File {
			return w.pathOfText(v)
		}
	}
	return v
}

// jsonText writes a value as compact JSON with its keys in order.
func jsonText(v any) string {
	o := string(book.Object{"v": v}.Bytes())
	o = strings.TrimSuffix(strings.TrimPrefix(o, `{"v":`), "}")
	if !json.Valid([]byte(o)) {
		return fmt.Sprint(v)
	}
	return o
}
