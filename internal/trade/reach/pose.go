package reach

import "context"

// poses are the answers of trying out one kind of media where spheres alone do
// not decide.
type poses struct {
	r     *reacher
	media int
}

func (r *reacher) tryPoses(ctx context.Context) error {
	r.poses = make([]*poses, len(r.in.Media))
	for i := range r.in.Media {
		r.poses[i] = &poses{r, i}
	}
	return ctx.Err()
}

func (p *poses) fits(state int, f int32) bool {
	return float64(p.r.radius[f]) >= enough*p.r.pieces[p.media][state].least/2
}
