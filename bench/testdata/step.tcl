# Reads the STEP file FETTLE_FILE with OCCT's test shell, names and colours
# included, and meshes it; prints the shortest time of three as JSON.
pload MODELING XDE
set best 1e9
for {set i 1} {$i <= 3} {incr i} {
    set from [clock microseconds]
    ReadStep D$i $env(FETTLE_FILE)
    XGetOneShape whole D$i
    incmesh whole $env(FETTLE_LINEAR) -angular $env(FETTLE_DEGREES)
    set s [expr {([clock microseconds] - $from) / 1e6}]
    if {$s < $best} { set best $s }
}
puts ""
puts "{\"seconds\":$best}"
exit
