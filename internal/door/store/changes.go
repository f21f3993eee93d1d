package store

import (
	"context"
	"fmt"
	"strings"

	"fettle"
)

// Changes tells whether records of some kinds changed: as long as it says the same,
// none was made, altered, deleted or brought back, by whichever process. Revisions only
// grow and records stay for good, so that their sum is another after every change.
func (s *Store) Changes(ctx context.Context, kinds ...fettle.RecordKind) (string, error) {
	if len(kinds) == 0 {
		panic("store: changes of no kinds")
	}
	args := make([]any, len(kinds))
	in := make([]string, len(kinds))
	for i, k := range kinds {
		if err := knownKind(k); err != nil {
			return "", err
		}
		args[i], in[i] = string(k), fmt.Sprintf("$%d", i+1)
	}
	var records, revisions int64
	err := s.once(ctx, func() error {
		return s.ask.QueryRowContext(ctx, `SELECT COUNT(*), CAST(COALESCE(SUM(rev), 0) AS BIGINT) FROM record WHERE kind IN (`+strings.Join(in, ", ")+`)`, args...).
			Scan(&records, &revisions)
	})
	return fmt.Sprintf("%d records, %d revisions", records, revisions), err
}
