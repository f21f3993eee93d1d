// Package fettle is the vocabulary of the shop: the nouns that every room of
// the program shares, one file per noun.
//
// A part is bought by how it looks. The values here say what the customer
// wants of it ([Brief]), what the shop owns ([Shelf]), how the part divides
// into faces that are treated alike ([Zone]), which patterns a tool leaves on
// them ([Mark]), and the ordered steps that take the marks away again
// ([Route]). They hold data, check themselves, and do the arithmetic of their
// own units; they compute nothing about the trade. That is the work of the
// rooms under internal/trade.
//
// Lengths are millimetres, heights of texture micrometres, angles radians
// unless a name ends in Deg, time minutes where a person reads it and seconds
// where the name ends in S. A number that is predicted rather than known is an
// [Estimate]: a value with an interval and the reason to believe it.
package fettle
