package store

import (
	"context"
	"fmt"
	"hash/fnv"
	"strings"
	"time"

	"fettle"
)

// intoPostgres loads a backup into a schema of its own and gives it the name of the
// shop's in one transaction. The stored files go into the workspace, where none of
// them can be in another's place: their names are what is in them.
func (r *restoring) intoPostgres(ctx context.Context, at, schema string) (err error) {
	if schema == "" {
		schema = DefaultSchema
	}
	old := &Store{dir: r.dir, log: r.log, now: time.Now}
	defer old.Close()
	if err := old.dialPostgres(ctx, at, schema); err != nil {
		return err
	}
	stem := stemOf(schema)
	fresh, before := stem+"_restoring_"+r.stamp, stem+"_before_"+r.stamp

	release, err := old.oneRestore(ctx, schema)
	if err != nil {
		return err
	}
	defer release()
	if err := r.at("clear the database"); err != nil {
		return err
	}
	if err := old.dropRestoring(ctx, stem); err != nil {
		return err
	}
	if _, err := old.db.ExecContext(ctx, `CREATE SCHEMA `+fresh); err != nil {
		return old.fail(ctx, err)
	}
	named := false
	defer func() {
		if !named {
			_ = old.dropRestoring(context.WithoutCancel(ctx), stem)
		}
	}()
	s := &Store{dir: r.dir, log: r.log, now: time.Now}
	defer s.Close()
	if err := s.dialPostgres(ctx, at, fresh); err != nil {
		return err
	}
	if err := r.load(ctx, s); err != nil {
		return err
	}
	there, err := old.hasSchema(ctx, schema)
	if err != nil {
		return err
	}
	if there {
		if err := r.at("take over passcodes"); err != nil {
			return err
		}
		if err := copySecrets(ctx, old.db, s); err != nil && !missingTable(err) {
			return old.fail(ctx, err)
		}
	}
	if err := r.at("write files"); err != nil {
		return err
	}
	if err := r.files(ctx, s, s.wholeBlob); err != nil {
		return err
	}
	if err := r.at("check"); err != nil {
		return err
	}
	if err := r.look(ctx, s); err != nil {
		return err
	}
	if err := s.db.Close(); err != nil {
		return old.fail(ctx, err)
	}
	s.db, s.read = nil, nil

	tx, err := old.db.BeginTx(ctx, nil)
	if err != nil {
		return old.fail(ctx, err)
	}
	defer func() { _ = tx.Rollback() }()
	if there {
		if _, err := tx.ExecContext(ctx, `ALTER SCHEMA `+schema+` RENAME TO `+before); err != nil {
			return old.fail(ctx, err)
		}
		r.report.Before = before
	}
	if _, err := tx.ExecContext(ctx, `ALTER SCHEMA `+fresh+` RENAME TO `+schema); err != nil {
		return old.fail(ctx, err)
	}
	if err := r.at("give it its name"); err != nil {
		return err
	}
	if err := tx.Commit(); err != nil {
		return old.fail(ctx, err)
	}
	named = true
	return r.at("done")
}

// stemOf is a schema's name, short enough that more can follow: those of PostgreSQL
// end after 63 bytes.
func stemOf(schema string) string {
	const most = 63 - len("_restoring_20060102t150405")
	if len(schema) <= most {
		return schema
	}
	h := fnv.New32a()
	h.Write([]byte(schema))
	return fmt.Sprintf("%s_%08x", schema[:most-9], h.Sum32())
}

// oneRestore makes this the only restore of a schema, by a lock that ends with the
// session that holds it.
func (s *Store) oneRestore(ctx context.Context, schema string) (release func(), err error) {
	h := fnv.New64a()
	h.Write([]byte("fettle restore " + schema))
	conn, err := s.db.Conn(ctx)
	if err != nil {
		return nil, s.fail(ctx, err)
	}
	var got bool
	if err := conn.QueryRowContext(ctx, `SELECT pg_try_advisory_lock($1)`, int64(h.Sum64())).Scan(&got); err != nil {
		_ = conn.Close()
		return nil, s.fail(ctx, err)
	}
	if !got {
		_ = conn.Close()
		return nil, fettle.Errorf(fettle.Conflict, "%s is being restored by another fettle; wait until that is done", s.where)
	}
	return func() {
		_, _ = conn.ExecContext(context.WithoutCancel(ctx), `SELECT pg_advisory_unlock($1)`, int64(h.Sum64()))
		_ = conn.Close()
	}, nil
}

func (s *Store) hasSchema(ctx context.Context, schema string) (there bool, err error) {
	err = s.db.QueryRowContext(ctx, `SELECT EXISTS (SELECT 1 FROM pg_namespace WHERE nspname = $1)`, schema).Scan(&there)
	return there, s.fail(ctx, err)
}

// dropRestoring throws away what restores left that were cut off. Nobody else is
// restoring now.
func (s *Store) dropRestoring(ctx context.Context, stem string) error {
	var names []string
	err := s.each(ctx, `SELECT nspname FROM pg_namespace ORDER BY nspname`, nil, func(row []any) error {
		name := text(row[0])
		if stamp, ok := strings.CutPrefix(name, stem+"_restoring_"); ok && schemaName.MatchString(name) {
			if _, err := time.Parse("20060102t150405", stamp); err == nil {
				names = append(names, name)
			}
		}
		return nil
	})
	if err != nil {
		return s.fail(ctx, err)
	}
	for _, name := range names {
		if _, err := s.db.ExecContext(ctx, `DROP SCHEMA IF EXISTS `+name+` CASCADE`); err != nil {
			return s.fail(ctx, err)
		}
	}
	return nil
}

// wholeBlob reports whether a stored file is there as it should be.
func (s *Store) wholeBlob(sha string) bool {
	sum, _, err := sumFile(s.blobPath(sha))
	return err == nil && sum == sha
}
