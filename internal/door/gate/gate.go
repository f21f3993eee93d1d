// Package gate decides who comes in: passcodes, sessions, headers, certificates.
package gate
