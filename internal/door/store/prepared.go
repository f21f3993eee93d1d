package store

import (
	"context"
	"database/sql"
	"sync"
)

// prepared asks a SQLite pool, and has each text compiled once a connection instead of
// at every question: compiling takes longer than most answers. PostgreSQL's driver does
// so by itself.
type prepared struct {
	*sql.DB
	mu  sync.Mutex
	ask map[string]*sql.Stmt
}

// mostPrepared bounds them: lists have a text for each combination of conditions and
// each limit.
const mostPrepared = 200

// statement is a text's, nil where there is none and the text must be asked as it is.
func (p *prepared) statement(ctx context.Context, text string) *sql.Stmt {
	p.mu.Lock()
	st, full := p.ask[text], len(p.ask) >= mostPrepared
	p.mu.Unlock()
	if st != nil || full {
		return st
	}
	st, err := p.DB.PrepareContext(ctx, text)
	if err != nil {
		return nil // asked as it is, it fails with its reason
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	if other := p.ask[text]; other != nil {
		_ = st.Close() // another was faster
		return other
	}
	if p.ask == nil {
		p.ask = map[string]*sql.Stmt{}
	}
	p.ask[text] = st
	return st
}

func (p *prepared) QueryContext(ctx context.Context, text string, args ...any) (*sql.Rows, error) {
	if st := p.statement(ctx, text); st != nil {
		return st.QueryContext(ctx, args...)
	}
	return p.DB.QueryContext(ctx, text, args...)
}

func (p *prepared) QueryRowContext(ctx context.Context, text string, args ...any) *sql.Row {
	if st := p.statement(ctx, text); st != nil {
		return st.QueryRowContext(ctx, args...)
	}
	return p.DB.QueryRowContext(ctx, text, args...)
}
