package store

import "fettle/internal/work/shop"

var _ shop.Store = (*Store)(nil)
