package finish

import "fettle"

func Plate() fettle.Survey { return plate() }
