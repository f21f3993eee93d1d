package store

import (
	"context"
	"embed"
	"io/fs"

	"github.com/pressly/goose/v3"

	"fettle"
)

//go:embed migrations/*.sql
var migrations embed.FS

// migrationFiles are what is applied; a test puts another version in their place.
var migrationFiles fs.FS = migrations

// migrationTable is where the database remembers which migrations it has had.
const migrationTable = "migration"

func (s *Store) provider() (*goose.Provider, error) {
	sub, err := fs.Sub(migrationFiles, "migrations")
	if err != nil {
		panic("store: no migrations in the binary")
	}
	d := goose.DialectSQLite3
	if s.dialect == Postgres {
		d = goose.DialectPostgres
	}
	return goose.NewProvider(d, s.db, sub,
		goose.WithTableName(migrationTable), goose.WithDisableGlobalRegistry(true))
}

// migrate brings the tables up to date.
func (s *Store) migrate(ctx context.Context) error {
	p, err := s.provider()
	if err != nil {
		return s.fail(ctx, err)
	}
	has, wants, err := p.GetVersions(ctx)
	if err != nil {
		return s.fail(ctx, err)
	}
	if has > wants {
		return s.newer()
	}
	done, err := p.Up(ctx)
	if err != nil {
		return s.fail(ctx, err)
	}
	for _, m := range done {
		s.log.Info("tables brought up to date", "migration", m.Source.Path, "took", m.Duration)
	}
	return nil
}

// checkVersion looks whether the tables are as this program knows them, and
// changes nothing.
func (s *Store) checkVersion(ctx context.Context) error {
	p, err := s.provider()
	if err != nil {
		return s.fail(ctx, err)
	}
	wants := int64(0)
	for _, src := range p.ListSources() {
		wants = max(wants, src.Version)
	}
	var has int64
	if err := s.read.QueryRowContext(ctx, `SELECT COALESCE(MAX(version_id), 0) FROM `+migrationTable).Scan(&has); err != nil {
		if missingTable(err) {
			return fettle.Errorf(fettle.NotFound, "%s holds no shop; check where it points, or open it once for writing", s.where)
		}
		return s.fail(ctx, err)
	}
	switch {
	case has > wants:
		return s.newer()
	case has < wants:
		return fettle.Errorf(fettle.Conflict, "%s was last written by an older fettle; open it once for writing, which brings it up to date", s.where)
	}
	return nil
}

func (s *Store) newer() error {
	return fettle.Errorf(fettle.Conflict, "%s was written by a newer fettle than this one; use that one, or a backup from before", s.where)
}
