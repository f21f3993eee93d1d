// Package pack writes and reads the one file that takes a job to a partner shop.
package pack
