package store

import (
	"context"
	"fmt"
	"hash/fnv"
	"regexp"
	"runtime"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/stdlib"

	"fettle"
)

// schemaName is what a schema may be called without quotes.
var schemaName = regexp.MustCompile(`^[a-z_][a-z0-9_]{0,62}$`)

// openPostgres opens a database by its URL. The workspace folder still holds the
// files.
func (s *Store) openPostgres(ctx context.Context, at, schema string) error {
	if err := s.dialPostgres(ctx, at, schema); err != nil {
		return err
	}
	if s.readOnly {
		return s.checkVersion(ctx)
	}
	return s.migratePostgres(ctx, schema)
}

// dialPostgres connects, and looks at no table yet.
func (s *Store) dialPostgres(ctx context.Context, at, schema string) error {
	s.dialect = Postgres
	if !schemaName.MatchString(schema) || strings.HasPrefix(schema, "pg_") {
		return fettle.Errorf(fettle.Invalid, "%q cannot be the name of a schema; take small letters, digits and _", schema)
	}
	if !strings.HasPrefix(at, "postgres://") && !strings.HasPrefix(at, "postgresql://") {
		return fettle.Errorf(fettle.Invalid, "the address of a database begins with postgres://, like postgres://fettle@localhost:5432/shop; leave it away to keep everything in the workspace")
	}
	config, err := pgx.ParseConfig(at)
	if err != nil {
		// Its text would hold the address, and a password in it.
		return fettle.Errorf(fettle.Invalid, "the address of the database cannot be read; it looks like postgres://fettle@localhost:5432/shop")
	}
	config.RuntimeParams["search_path"] = schema
	config.RuntimeParams["application_name"] = "fettle"
	if s.readOnly {
		config.RuntimeParams["default_transaction_read_only"] = "on"
	}
	if config.ConnectTimeout == 0 {
		config.ConnectTimeout = 10 * time.Second
	}
	s.where = fmt.Sprintf("%s at %s:%d", config.Database, config.Host, config.Port)
	s.db = stdlib.OpenDB(*config)
	s.read, s.ask = s.db, s.db
	// A server has a hundred connections for all who come; the queue takes from
	// these too.
	n := max(8, 2*runtime.GOMAXPROCS(0))
	s.db.SetMaxOpenConns(n)
	s.db.SetMaxIdleConns(n)
	s.db.SetConnMaxIdleTime(5 * time.Minute)
	if err := s.db.PingContext(ctx); err != nil {
		return s.unreachable(ctx, config, err)
	}
	return nil
}

// migratePostgres makes the schema and brings it up to date, one process after the
// other: who comes second finds nothing left to do.
func (s *Store) migratePostgres(ctx context.Context, schema string) error {
	conn, err := s.db.Conn(ctx)
	if err != nil {
		return s.fail(ctx, err)
	}
	defer conn.Close()
	h := fnv.New64a()
	h.Write([]byte("fettle schema " + schema))
	key := int64(h.Sum64())
	if _, err := conn.ExecContext(ctx, `SELECT pg_advisory_lock($1)`, key); err != nil {
		return s.fail(ctx, err)
	}
	defer func() {
		// A lock of a session ends with it at the latest.
		if _, err := conn.ExecContext(context.WithoutCancel(ctx), `SELECT pg_advisory_unlock($1)`, key); err != nil {
			s.log.Warn("lock of the tables is not released", "err", err)
		}
	}()
	// CREATE SCHEMA IF NOT EXISTS asks for the right to create one even where it is
	// there.
	var there bool
	if err := conn.QueryRowContext(ctx, `SELECT EXISTS (SELECT 1 FROM pg_namespace WHERE nspname = $1)`, schema).Scan(&there); err != nil {
		return s.fail(ctx, err)
	}
	if !there {
		if _, err := conn.ExecContext(ctx, `CREATE SCHEMA `+schema); err != nil {
			return s.fail(ctx, err)
		}
	}
	return s.migrate(ctx)
}
