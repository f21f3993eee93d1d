package storetest

import (
	"database/sql"
	"os"
	"testing"

	_ "github.com/jackc/pgx/v5/stdlib"
)

func TestMain(m *testing.M) { os.Exit(Main(m)) }

func TestPostgres(t *testing.T) {
	url := Postgres(t)
	db, err := sql.Open("pgx", url)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	var encoding, fsync string
	if err := db.QueryRow(`SELECT current_setting('server_encoding'), current_setting('fsync')`).Scan(&encoding, &fsync); err != nil {
		t.Fatal(err)
	}
	if encoding != "UTF8" || fsync != "off" {
		t.Errorf("encoding %s, fsync %s", encoding, fsync)
	}
	if again := Postgres(t); again != url {
		t.Errorf("a second server was started: %s and %s", url, again)
	}
}

func TestSchema(t *testing.T) {
	a, b := Schema(t), Schema(t)
	if a == b {
		t.Errorf("both are %s", a)
	}
	t.Run("Names/with “odd” letters, und Größe, that are long enough for two", func(t *testing.T) {
		if s := Schema(t); len(s) > 63 {
			t.Errorf("%s is longer than PostgreSQL's 63 bytes", s)
		}
	})
}
