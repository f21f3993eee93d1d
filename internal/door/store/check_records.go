package store

import (
	"encoding/json"
	"maps"
	"slices"

	"fettle"
)

// records holds the table record against each record's revisions.
func (c *checking) records() error {
	const of = `FROM record r LEFT JOIN revision v ON v.record_id = r.id AND v.rev = r.rev`
	err := c.each(`SELECT r.id, r.kind, r.rev, r.folded, r.only_one, r.deleted_us, v.name, v.deleted_us `+of+` ORDER BY r.id`, func(row []any) error {
		c.report.Records++
		id, kind := text(row[0]), fettle.RecordKind(text(row[1]))
		if !isID(id) {
			c.find(id, "a record has the id %.80q, which cannot be; restore a backup", id)
		}
		if !kind.Known() {
			c.find(id, "the record %s is of the kind %.40q, which this program does not know; open it with the fettle that wrote it", id, string(kind))
			return nil
		}
		if row[6] == nil {
			return nil // told with the gaps
		}
		name := text(row[6])
		if fold := fettle.FoldName(name); text(row[3]) != fold {
			c.find(id, "the %s %q is found under the name %.80q where it should be %.80q; change it and save it again", kind, name, text(row[3]), fold)
		}
		if one := row[4] == int64(1); one != kind.NamesAreUnique() {
			c.find(id, "the %s %q is wrongly marked for how often its name may be given; restore a backup", kind, name)
		}
		if row[5] != row[7] {
			c.find(id, "the %s %q and its last revision do not agree whether it was deleted; restore a backup", kind, name)
		}
		return nil
	})
	if err != nil {
		return err
	}
	return c.each(`SELECT r.id, r.kind, r.rev, COUNT(v.rev), COALESCE(MIN(v.rev), 0), COALESCE(MAX(v.rev), 0)
FROM record r LEFT JOIN revision v ON v.record_id = r.id GROUP BY r.id, r.kind, r.rev
HAVING COUNT(v.rev) <> r.rev OR MIN(v.rev) <> 1 OR MAX(v.rev) <> r.rev ORDER BY r.id`, func(row []any) error {
		id, last := text(row[0]), row[2].(int64)
		switch n, high := row[3].(int64), row[5].(int64); {
		case high != last:
			c.find(id, "the %s %s is at revision %d and its last revision is %d; restore a backup", text(row[1]), id, last, high)
		default:
			c.find(id, "the %s %s has %d of its %d revisions; its history has a gap, which a backup from before may fill", text(row[1]), id, n, last)
		}
		return nil
	})
}

// acts are what a revision may be from.
var acts = []fettle.Act{fettle.Make, fettle.Alter, fettle.Delete, fettle.Undo}

// revisions looks at each revision for itself, and at those that an undo brought back.
func (c *checking) revisions() error {
	err := c.each(`SELECT record_id, rev, act, stands, links, files, body FROM revision ORDER BY record_id, rev`, func(row []any) error {
		c.report.Revisions++
		id, rev, stands := text(row[0]), row[1].(int64), row[3].(int64)
		if !slices.Contains(acts, fettle.Act(text(row[2]))) || stands < 1 || stands > rev {
			c.find(id, "revision %d of %s does not say what was done; restore a backup", rev, id)
		}
		if !json.Valid([]byte(text(row[6]))) {
			c.find(id, "the body of revision %d of %s is no JSON; undo that revision, or restore a backup", rev, id)
		}
		if _, err := roles(text(row[4])); err != nil {
			c.find(id, "the links of revision %d of %s cannot be read; restore a backup", rev, id)
		}
		files, err := roles(text(row[5]))
		if err != nil {
			c.find(id, "the files of revision %d of %s cannot be read; restore a backup", rev, id)
		}
		for _, role := range slices.Sorted(maps.Keys(files)) {
			if !c.known[files[role]] {
				c.find(id, "revision %d of %s has a file %q that was never stored (%s); store it again, or restore a backup", rev, id, role, files[role])
			}
		}
		return nil
	})
	if err != nil {
		return err
	}
	return c.each(`SELECT v.record_id, v.rev, v.stands FROM revision v JOIN revision w ON w.record_id = v.record_id AND w.rev = v.stands
WHERE v.stands <> v.rev AND (v.name <> w.name OR v.links <> w.links OR v.files <> w.files OR v.body <> w.body) ORDER BY v.record_id, v.rev`, func(row []any) error {
		c.find(text(row[0]), "revision %d of %s should be as revision %d was, and is not; restore a backup", row[1], text(row[0]), row[2])
		return nil
	})
}

// links holds the tables of links and files against the last revisions.
func (c *checking) links() error {
	for _, in := range []struct{ table, column, field string }{
		{"link", "target_id", "links"},
		{"attachment", "sha256", "files"},
	} {
		is := map[string]map[string]string{}
		err := c.each(`SELECT record_id, role, `+in.column+` FROM `+in.table, func(row []any) error {
			if in.table == "link" {
				c.report.Links++
			}
			m := is[text(row[0])]
			if m == nil {
				m = map[string]string{}
				is[text(row[0])] = m
			}
			m[text(row[1])] = text(row[2])
			return nil
		})
		if err != nil {
			return err
		}
		err = c.each(`SELECT r.id, r.kind, v.`+in.field+` FROM record r JOIN revision v ON v.record_id = r.id AND v.rev = r.rev ORDER BY r.id`, func(row []any) error {
			id := text(row[0])
			want, err := roles(text(row[2]))
			if err == nil && !maps.Equal(want, is[id]) {
				c.find(id, "the %s of the %s %s are found otherwise than its last revision says; change it and save it again, or restore a backup", in.field, text(row[1]), id)
			}
			return nil
		})
		if err != nil {
			return err
		}
	}
	return nil
}

var taskStates = []fettle.TaskState{fettle.Waiting, fettle.Running, fettle.Done, fettle.Failed, fettle.Stopped, fettle.Parked}

func (c *checking) tasks() error {
	return c.each(`SELECT id, kind, state, args, result FROM task ORDER BY id`, func(row []any) error {
		c.report.Tasks++
		id, state, result := text(row[0]), fettle.TaskState(text(row[2])), text(row[4])
		if !slices.Contains(taskStates, state) {
			c.find(id, "the task %s is in a state %.40q that there is not; ask for it again", id, string(state))
		}
		if !json.Valid([]byte(text(row[3]))) || result != "" && !json.Valid([]byte(result)) {
			c.find(id, "what the task %s was asked or answered is no JSON; ask for it again", id)
		}
		return nil
	})
}
