# weigh gives volume, area and box of a shape as OCCT integrates them over the
# exact faces, not over triangles: volumes by Gauss-Kronrod to a relative 1e-9,
# areas by two rules, neither of which is right everywhere: the adaptive one goes
# astray on ellipses, the one of fixed order on faces with ragged rims. say prints those of every solid in some shapes as a line of JSON. Shapes are
# variables of the outermost level.
proc number {text} {
    if {![regexp {Mass\s*:\s*([-+0-9.eE]+)} $text - n]} { error "no mass in: $text" }
    return $n
}

proc weigh {s} {
    set v [number [uplevel #0 [list vpropsgk $s 1e-9 1 1 0]]]
    set a [number [uplevel #0 [list sprops $s 1e-9 -full]]]
    set fixed [number [uplevel #0 [list sprops $s -full]]]
    set b [string trim [uplevel #0 [list bounding $s -noTriangulation -optimal]]]
    return "{\"volume\":$v,\"areas\":\[$a,$fixed\],\"box\":\[[join $b ,]\]}"
}

proc say {path shapes} {
    set bodies {}
    foreach s $shapes {
        set solids [list $s]
        if {![string match "* SOLID *" [uplevel #0 [list whatis $s]]]} {
            set solids [uplevel #0 [list explode $s So]]
        }
        foreach b $solids { lappend bodies [weigh $b] }
    }
    puts "{\"file\":\"$path\",\"bodies\":\[[join $bodies ,]\]}"
    flush stdout
}
