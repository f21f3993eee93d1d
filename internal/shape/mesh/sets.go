package mesh

// Sets are disjoint sets of 0 … n−1 (union-find); the smallest member stands for
// its set.
type Sets []int32

// NewSets has every member alone.
func NewSets(n int) Sets {
	s := make(Sets, n)
	for i := range s {
		s[i] = int32(i)
	}
	return s
}

// Find is the member that stands for the set of i; it halves the path on its
// way.
func (s Sets) Find(i int32) int32 {
	for s[i] != i {
		s[i] = s[s[i]]
		i = s[i]
	}
	return i
}

// Join makes two sets one.
func (s Sets) Join(i, j int32) {
	i, j = s.Find(i), s.Find(j)
	s[max(i, j)] = min(i, j)
}
