# Makes solids with OCCT's own test shell, writes each as STEP into the folder
# named by FETTLE_DIR, and prints a line of JSON for each: see weigh.tcl. The
# names are keys of the table of formulas beside the test.
pload MODELING OCAFKERNEL XDE
source [file join [file dirname [info script]] weigh.tcl]

set docs 0

# put writes shapes into one file, each under the name of its variable. The
# schema is 203, 214 or 242, the unit MM, CM, M, INCH or FT; with assembly, a
# compound becomes one, whose parts are placed.
proc put {file shapes {schema AP214IS} {unit MM} {assembly 0}} {
    global docs env
    set D D[incr docs]
    uplevel #0 [list XNewDoc $D]
    param write.step.schema $schema
    param write.step.unit $unit
    foreach s $shapes {
        uplevel #0 [list SetName $D [uplevel #0 [list XAddShape $D $s $assembly]] $s]
    }
    set path [file join $env(FETTLE_DIR) $file.step]
    uplevel #0 [list WriteStep $D $path]
    say $path $shapes
}

# --- single turns of a lathe and a mill
box block 3 -4 5 40 25 12
put block block

pcylinder peg 3.175 20
trotate peg 0 0 0 1 2 3 30
ttranslate peg 10 -7 3
put peg peg

pcone taper 4 1.5 7.5
put taper taper AP203

psphere ball 1.5
ttranslate ball 100 -40 7
put ball ball

ptorus ring 2 0.6
trotate ring 0 0 0 1 0 0 37
put ring ring AP242DIS

# --- a plate with a bore, a countersunk hole, a counterbored one and a slot
box plate 80 40 6
pcylinder t 4 6
ttranslate t 12 12 0
bcut plate plate t
pcylinder t 2.25 6
ttranslate t 32 20 0
bcut plate plate t
pcone t 2.25 4.5 2.25
ttranslate t 32 20 3.75
bcut plate plate t
pcylinder t 2.75 6
ttranslate t 52 14 0
bcut plate plate t
pcylinder t 5 3
ttranslate t 52 14 3
bcut plate plate t
box t 60 27 0 12 6 6
bcut plate plate t
pcylinder t 3 6
ttranslate t 60 30 0
bcut plate plate t
ttranslate t 12 0 0
bcut plate plate t
put plate plate

# The plate once more, every face a rational B-spline.
nurbsconvert rational plate
put rational rational

# Awkward numbers: bores of 6.35 and 3.3, the latter countersunk at 90 degrees to
# 7.0, and one of 4.7625 that leans by 30 degrees, clear through.
box odd 63.5 31.75 4.7625
pcylinder t 3.175 4.7625
ttranslate t 11.1 9.7 0
bcut odd odd t
pcylinder t 1.65 4.7625
ttranslate t 27.3 20.9 0
bcut odd odd t
pcone t 1.65 3.5 1.85
ttranslate t 27.3 20.9 2.9125
bcut odd odd t
pcylinder t 2.38125 40
ttranslate t 0 0 -20
trotate t 0 0 0 0 1 0 30
ttranslate t 47.1 14.3 2.38125
bcut odd odd t
put odd odd

# --- edges broken
box filleted 30 20 10
explode filleted E
set edges {}
for {set i 1} {$i <= 12} {incr i} { lappend edges 2.5 filleted_$i }
blend filleted filleted {*}$edges
put filleted filleted

polyline o 1.5 0 0 28.5 0 0 30 1.5 0 30 18.5 0 28.5 20 0 1.5 20 0 0 18.5 0 0 1.5 0 1.5 0 0
mkplane f o
prism chamfered f 0 0 10
put chamfered chamfered

# --- hollow things
box hollow 30 30 30
psphere t 1.5
ttranslate t 15 15 15
bcut hollow hollow t
put hollow hollow

box tray 50 30 12
explode tray F
offsetshape tray tray -2 1.e-3 tray_6
put tray tray

# --- two bars of one diameter that cross at 60 degrees
pcylinder cross 5 40
ttranslate cross 0 0 -20
tcopy cross t
trotate t 0 0 0 1 0 0 60
bfuse cross cross t
put cross cross

# --- swept, spun and drawn over sections
ellipse c 0 0 0 0 0 1 12 7
mkedge e c
wire w e
mkplane f w
prism oval f 0 0 9
put oval oval

# A parabola of focal length 1.25, spun about its axis; 3 at the rim, 1.8 high.
parabola c 0 0 0 0 1 0 0 0 1 1.25
mkedge e1 c 0 3
polyline e2 3 0 1.8 0 0 1.8 0 0 0
wire w e1 e2
mkplane f w
revol dish f 0 0 0 0 0 1 360
put dish dish

# A knob: a Bezier curve from the axis to the axis.
beziercurve c 7  0 0 0  4 0 0  7 0 3  1 0 4.5  2 0 8  6 0 10  0 0 10
mkedge e1 c
polyline e2 0 0 10 0 0 0
wire w e1 e2
mkplane f w
revol knob f 0 0 0 0 0 1 360
put knob knob

set sections {}
foreach {z r} {0 4 4 2.5 8 3.5 12 1.5} {
    circle c 0 0 $z $r
    mkedge e c
    wire w_$z e
    lappend sections w_$z
}
thrusections loft 1 0 {*}$sections
put loft loft

beziercurve c 4  0 0 0  0 0 12  10 5 5  15 0 15
mkedge e c
wire w e
circle c 0 0 0 0 0 1 1
mkedge e c
wire p e
mkplane p p
pipe handle w p
put handle handle

# --- a plate that swells to the middle: a Bezier surface whose poles stand evenly
# in x and y, so that the mean height is the mean of the poles'
set poles {}
foreach row {{3 3.2 3.2 3} {3.4 5.5 5 3.4} {3.4 6 5.5 3.4} {3 3.2 3.2 3}} j {0 1 2 3} {
    foreach z $row i {0 1 2 3} { lappend poles [expr {20.0 * $i}] [expr {10.0 * $j}] $z }
}
beziersurf c 4 4 {*}$poles
mkface f c
prism t f 0 0 -30
box pillow -1 -1 0 62 32 40
bcommon pillow pillow t
put pillow pillow

tcopy pillow escutcheon
foreach {x y} {9 15 51 15} {
    pcylinder t 2.1 20
    ttranslate t $x $y -5
    bcut escutcheon escutcheon t
    pcone t 0.1 8.1 8
    ttranslate t $x $y 0
    bcut escutcheon escutcheon t
}
pcylinder t 6.5 20
ttranslate t 30 15 -5
bcut escutcheon escutcheon t
put escutcheon escutcheon

# --- several bodies, and one placed over and over
pcylinder bush 6 9
pcylinder t 4 9
bcut bush bush t
ttranslate bush 0 50 0
box key 40 50 0 20 4 3
put several {block bush key}

# An angle with one hole, which is not its own mirror image: twice placed and once
# mirrored.
box angle 20 12 3
box t 0 0 0 3 12 15
bfuse angle angle t
pcylinder t 2 3
ttranslate t 13 4 0
bcut angle angle t
tcopy angle other
tmirror other 0 0 0 0 1 0
tcopy angle t
copy angle first
copy angle second
ttranslate second 30 10 5
trotate second 0 0 0 1 1 0 50
ttranslate other 0 -5 0
compound first second other placed
put placed placed AP214IS MM 1

# --- one cube in four units
box cube 1 2 3 25.4 25.4 25.4
foreach unit {MM CM M INCH FT} { put cube-$unit cube AP214IS $unit }
exit
