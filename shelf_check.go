package fettle

// Validate checks that a shelf can be planned with: names that are there and
// differ, sizes and intervals that are numbers.
func (s *Shelf) Validate() error {
	check := func(kind string, n int, name func(int) string, ok func(int) string) error {
		seen := map[string]bool{}
		for i := range n {
			switch bad := ok(i); {
			case name(i) == "":
				return Errorf(Invalid, "%s %d has no name", kind, i+1)
			case seen[name(i)]:
				return Errorf(Invalid, "%s %q stands there twice", kind, name(i))
			case bad != "":
				return Errorf(Invalid, "%s %q: %s", kind, name(i), bad)
			}
			seen[name(i)] = true
		}
		return nil
	}
	all := func(pairs ...any) string {
		for i := 0; i < len(pairs); i += 2 {
			switch v := pairs[i+1].(type) {
			case Estimate:
				if !v.Valid() || v.Low <= 0 {
					return pairs[i].(string) + " needs value, low and high above zero in order, and a basis"
				}
			case float64:
				if !(v > 0) || v > 1e9 {
					return pairs[i].(string) + " must be a number above zero"
				}
			}
		}
		return ""
	}
	for _, err := range []error{
		check("material", len(s.Materials), func(i int) string { return s.Materials[i].Name }, func(i int) string {
			m := s.Materials[i]
			for _, z := range m.Sold {
				if bad := z.bad(); bad != "" {
					return bad
				}
			}
			return all("density_g_cm3", m.Density, "kc1_1", m.KC11, "cut_speed_m_min", m.CutSpeed, "feed_per_tooth_mm", m.FeedPerTooth, "price_per_kg", m.PricePerKg)
		}),
		check("finish", len(s.Looks), func(i int) string { return s.Looks[i].Name }, func(i int) string {
			l := s.Looks[i]
			if !(l.Specular >= 0 && l.Specular < 1) || !(l.MarkChance >= 0 && l.MarkChance <= 1) {
				return "specular_share must be from 0 to under 1 and mark_chance from 0 to 1"
			}
			return all("ra_um", l.RaUM)
		}),
		check("cutter", len(s.Cutters), func(i int) string { return s.Cutters[i].Name }, func(i int) string {
			if !(s.Cutters[i].UsedH >= 0) {
				return "used_h must be the hours that it has cut, or 0"
			}
			return all("diameter_mm", s.Cutters[i].DiameterMM)
		}),
		check("mop", len(s.Mops), func(i int) string { return s.Mops[i].Name }, func(i int) string {
			m := s.Mops[i]
			if !(m.StartRaUM >= 0) {
				return "start_ra_um must be the roughest surface that it is any use on, or 0 for no limit"
			}
			return all("contact_mm", m.ContactMM, "limit_ra_um", m.LimitRaUM, "min_per_100_cm2", m.MinPer100CM2, "cut_um_min_per_100_cm2", m.CutUMMin, "bar_cost", m.BarCost)
		}),
		check("grit", len(s.Grits), func(i int) string { return s.Grits[i].Name }, func(i int) string {
			g := s.Grits[i]
			return all("grain_um", g.GrainUM, "ra_um", g.RaUM, "rz_um", g.RzUM, "price_sheet", g.PriceSheet)
		}),
		check("media", len(s.Media), func(i int) string { return s.Media[i].Name }, func(i int) string {
			m := s.Media[i]
			if !m.Shape.known() {
				return "the shape " + string(m.Shape) + " is not known; there is: " + shapeNames()
			}
			for _, l := range m.Lots {
				if l.Name == "" || !(l.Kg >= 0 && l.HoursRun >= 0 && l.MeasuredMM[0] >= 0 && l.MeasuredMM[1] >= 0) {
					return "each of its lots needs a name, and kg, hours_run and measured_mm of 0 or more"
				}
			}
			return all("size_mm", m.SizeMM[0], "size_mm", m.SizeMM[1], "bulk_kg_l", m.BulkKgL, "limit_ra_um", m.LimitRaUM, "time_factor", m.TimeFactor, "cut_factor", m.CutFactor, "worn_share", m.Worn)
		}),
		check("pair of jaws", len(s.Jaws), func(i int) string { return s.Jaws[i].Name }, func(i int) string { return s.Jaws[i].bad() }),
		check("soft material", len(s.Softs), func(i int) string { return s.Softs[i].Name }, func(i int) string {
			m := s.Softs[i]
			return all("shore_a", m.ShoreA, "squeeze", m.Squeeze, "least_mm", m.LeastMM)
		}),
		check("barrel or bowl", len(s.Vessels), func(i int) string { return s.Vessels[i].Name }, func(i int) string {
			v := s.Vessels[i]
			return all("volume_l", v.VolumeL, "speedup", v.Speedup, "rate_per_h", v.RatePerH)
		}),
		check("mill", len(s.Machines), func(i int) string { return s.Machines[i].Name }, func(i int) string {
			m := s.Machines[i]
			return all("max_rpm", m.MaxRPM, "max_feed_mm_min", m.MaxFeedMMMin, "accel_xy_m_s2", m.AccelXY, "blocks_per_s", m.BlocksPerS, "rate_per_h", m.RatePerH)
		}),
	} {
		if err != nil {
			return err
		}
	}
	r := s.Rates
	if bad := all("person_per_h", r.PersonPerH, "program_h", r.ProgramH, "setup_min", r.SetupMin, "handling_min", r.HandlingMin, "rough_min_cm3", r.RoughMinCM3); bad != "" {
		return Errorf(Invalid, "rates: %s", bad)
	}
	if bad := r.badForPrices(); bad != "" {
		return Errorf(Invalid, "rates: %s", bad)
	}
	if _, err := ParseSystem(string(r.Display)); err != nil {
		return Errorf(Invalid, "rates: display is %q; choose metric or inch", r.Display)
	}
	if !(r.DayH >= 0 && r.DayH <= 24) {
		return Errorf(Invalid, "rates: day_h is %g; give the hours of a day at the bench, up to 24, or leave it out for 8", r.DayH)
	}
	if r.Currency == "" || !(r.MarginShare >= 0 && r.MarginShare < 1) || !(r.ScrapShare >= 0 && r.ScrapShare < 1) {
		return Errorf(Invalid, "rates: a currency, and margin_share and scrap_share from 0 to under 1, are needed")
	}
	return nil
}
