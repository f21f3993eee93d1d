# Reads the STEP files named in FETTLE_FILES, one a line, and prints a line of JSON
# for each: see weigh.tcl. A file without a body has an empty list.
pload MODELING XDE
source [file join [file dirname [info script]] weigh.tcl]

set docs 0
foreach path [split [string trim $env(FETTLE_FILES)] \n] {
    set D D[incr docs]
    ReadStep $D $path
    XGetOneShape whole $D
    say $path whole
}
exit
