// Package ical writes appointments as an iCalendar file (RFC 5545).
package ical
