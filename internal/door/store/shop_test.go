package store

import "fettle/internal/shop"

var _ shop.Store = (*Store)(nil)
