// Package block makes formed sanding blocks: which patches of a zone a stiff block can follow, along which stroke and how far, and the solid to print.
package block
