// Package offer makes what goes to the customer: finishes side by side, as a page and on
// paper.
package offer
