// Package reach says where media touch a part, what stays as it was cut, how
// much comes off each face and how edges go.
package reach
