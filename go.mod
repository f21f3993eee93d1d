module fettle

go 1.26.0

require (
	codeberg.org/go-pdf/fpdf v0.12.0 // indirect
	github.com/BurntSushi/toml v1.4.1-0.20240526193622-a339e1f7089c // indirect
	github.com/alecthomas/kong v1.17.0 // indirect
	github.com/go-fonts/dejavu v0.3.2 // indirect
	github.com/go-fonts/liberation v0.3.3 // indirect
	github.com/google/go-cmp v0.7.0 // indirect
	github.com/muktihari/xmltokenizer v0.0.5 // indirect
	github.com/piglig/go-qr v1.1.0 // indirect
	github.com/rogpeppe/go-internal v1.16.0 // indirect
	golang.org/x/exp/typeparams v0.0.0-20231108232855-2478ac86f678 // indirect
	golang.org/x/mod v0.41.0 // indirect
	golang.org/x/sync v0.23.0 // indirect
	golang.org/x/tools v0.51.0 // indirect
	gonum.org/v1/gonum v0.17.0 // indirect
	honnef.co/go/tools v0.8.2 // indirect
	pgregory.net/rapid v1.3.0 // indirect
)

tool honnef.co/go/tools/cmd/staticcheck
