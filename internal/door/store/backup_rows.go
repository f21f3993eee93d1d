package store

import (
	"bytes"
	"context"
	"database/sql"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strconv"
	"unicode/utf8"
)

// querier is a pool or a transaction.
type querier interface {
	QueryContext(ctx context.Context, query string, args ...any) (*sql.Rows, error)
}

// eachRow calls f with every row of a question: strings, int64 and nil. The row is
// overwritten by the next.
func eachRow(ctx context.Context, q querier, query string, args []any, f func(row []any) error) error {
	rows, err := q.QueryContext(ctx, query, args...)
	if err != nil {
		return err
	}
	defer rows.Close()
	names, err := rows.Columns()
	if err != nil {
		return err
	}
	row, into := make([]any, len(names)), make([]any, len(names))
	for i := range row {
		into[i] = &row[i]
	}
	for rows.Next() {
		if err := rows.Scan(into...); err != nil {
			return err
		}
		for i, v := range row {
			if b, ok := v.([]byte); ok {
				row[i] = string(b)
			}
		}
		if err := f(row); err != nil {
			return err
		}
	}
	return rows.Err()
}

// appendRow writes a row as one line of JSON: an object with every column by its
// name, numbers as numbers. Text that is not UTF-8, which JSON cannot hold, becomes
// {"base64": "…"}.
func appendRow(buf []byte, columns []column, row []any) ([]byte, error) {
	for i, c := range columns {
		sep := byte(',')
		if i == 0 {
			sep = '{'
		}
		buf = append(buf, sep)
		buf = appendText(buf, c.name)
		buf = append(buf, ':')
		switch v := row[i].(type) {
		case nil:
			buf = append(buf, "null"...)
		case int64:
			buf = strconv.AppendInt(buf, v, 10)
		case string:
			if utf8.ValidString(v) {
				buf = appendText(buf, v)
			} else {
				buf = append(buf, `{"base64":"`...)
				buf = base64.StdEncoding.AppendEncode(buf, []byte(v))
				buf = append(buf, `"}`...)
			}
		default:
			return nil, fmt.Errorf("store: column %s holds a %T", c.name, v)
		}
	}
	return append(buf, "}\n"...), nil
}

// appendText writes a JSON string (RFC 8259, 7), escaping only what must be.
func appendText(buf []byte, s string) []byte {
	buf = append(buf, '"')
	from := 0
	for i := range len(s) {
		c := s[i]
		if c >= 0x20 && c != '"' && c != '\\' {
			continue
		}
		buf = append(buf, s[from:i]...)
		from = i + 1
		switch c {
		case '"', '\\':
			buf = append(buf, '\\', c)
		case '\n':
			buf = append(buf, `\n`...)
		default:
			buf = append(buf, fmt.Sprintf(`\u%04x`, c)...)
		}
	}
	return append(append(buf, s[from:]...), '"')
}

// readRow reads what appendRow wrote, and nothing else: every column once, each of its
// kind. Its error names what is wrong with the line.
func readRow(line []byte, columns []column, row []any) error {
	d := json.NewDecoder(bytes.NewReader(line))
	d.UseNumber()
	if t, err := d.Token(); err != nil || t != json.Delim('{') {
		return errors.New("is no JSON object")
	}
	seen := make([]bool, len(columns))
	n := 0
	for d.More() {
		t, err := d.Token()
		name, ok := t.(string)
		if err != nil || !ok {
			return errors.New("is no JSON object")
		}
		// Columns come in order, so the first guess is nearly always right.
		i := n
		if i >= len(columns) || columns[i].name != name {
			for i = range columns {
				if columns[i].name == name {
					break
				}
			}
		}
		if len(columns) == 0 || columns[i].name != name {
			return fmt.Errorf("has a column %.40q that the table has not", name)
		}
		if seen[i] {
			return fmt.Errorf("has the column %q twice", name)
		}
		seen[i], n = true, n+1
		if row[i], err = readValue(d, columns[i]); err != nil {
			return fmt.Errorf("has in column %q what does not belong there", name)
		}
	}
	if _, err := d.Token(); err != nil {
		return errors.New("is no JSON object")
	}
	if _, err := d.Token(); err != io.EOF {
		return errors.New("has something behind its object")
	}
	for i, c := range columns {
		if !seen[i] {
			return fmt.Errorf("lacks the column %q", c.name)
		}
	}
	return nil
}

var errKind = errors.New("not of the column's kind")

func readValue(d *json.Decoder, c column) (any, error) {
	t, err := d.Token()
	if err != nil {
		return nil, err
	}
	switch v := t.(type) {
	case nil:
		if c.null {
			return nil, nil
		}
	case json.Number:
		if c.number {
			return strconv.ParseInt(v.String(), 10, 64)
		}
	case string:
		if !c.number {
			return v, nil
		}
	case json.Delim:
		if v != '{' || c.number {
			return nil, errKind
		}
		var in [3]json.Token // name, text, end
		for i := range in {
			if in[i], err = d.Token(); err != nil {
				return nil, err
			}
		}
		held, ok := in[1].(string)
		b, err := base64.StdEncoding.DecodeString(held)
		if !ok || in[0] != "base64" || in[2] != json.Delim('}') || err != nil {
			return nil, errKind
		}
		return string(b), nil
	}
	return nil, errKind
}
