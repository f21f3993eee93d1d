package fettle

import (
	"slices"
	"strings"
)

// MediaKind is what media are made of and made for.
type MediaKind string

// The kinds for which priors are known.
const (
	CeramicFast    MediaKind = "ceramic fast cut"
	CeramicGeneral MediaKind = "ceramic general"
	CeramicFine    MediaKind = "ceramic fine"
	PlasticGeneral MediaKind = "plastic general"
	PlasticFine    MediaKind = "plastic fine"
	Porcelain      MediaKind = "porcelain"
	Steel          MediaKind = "steel"
	Cob            MediaKind = "cob"
	Walnut         MediaKind = "walnut"
)

// MediaShape is the form of a piece.
type MediaShape string

// The shapes, with what SizeMM holds for each.
const (
	Sphere   MediaShape = "sphere"      // diameter
	Cylinder MediaShape = "cylinder"    // diameter, length
	AngleCut MediaShape = "angle cut"   // cylinder with slanted ends: diameter, length
	Cone     MediaShape = "cone"        // base diameter, height
	Triangle MediaShape = "triangle"    // side, thickness
	Tetra    MediaShape = "tetrahedron" // edge, edge
	Pin      MediaShape = "pin"         // diameter, length
	Grain    MediaShape = "grain"       // smallest and largest sieve size
)

// shapes are all of them.
var shapes = []MediaShape{Sphere, Cylinder, AngleCut, Cone, Triangle, Tetra, Pin, Grain}

// Pointed reports whether a piece has a tip or an edge that goes in where its body
// does not.
func (s MediaShape) Pointed() bool {
	return s == Cone || s == Triangle || s == Tetra || s == AngleCut
}

func (s MediaShape) known() bool { return slices.Contains(shapes, s) }

func shapeNames() string {
	names := make([]string, len(shapes))
	for i, s := range shapes {
		names[i] = string(s)
	}
	return strings.Join(names, ", ")
}

// Media is one kind of tumbling media as it stands on the shelf.
type Media struct {
	Name   string     `json:"name"` // "ceramic-fine-5": what a user types
	Title  string     `json:"title"`
	Kind   MediaKind  `json:"kind"`
	Shape  MediaShape `json:"shape"`
	SizeMM [2]float64 `json:"size_mm"` // when new, as the shape says
	// Worn is the share of the new size at which it is discarded.
	Worn     float64 `json:"worn_share"`
	HoursRun float64 `json:"hours_run"`
	OnShelfL float64 `json:"on_shelf_l"`
	// Lots are the bags that it came in, with what was measured of each.
	Lots    []MediaLot `json:"lots,omitempty"`
	BulkKgL float64    `json:"bulk_kg_l"`
	Dry     bool       `json:"dry"` // run without water, with paste
	// WearPctH is the share of weight lost per hour in a vibratory bowl and in a
	// rotary barrel.
	WearBowlPctH   Estimate `json:"wear_bowl_pct_h"`
	WearBarrelPctH Estimate `json:"wear_barrel_pct_h"`
	// LimitRaUM is the roughness that it tends to on steel.
	LimitRaUM Estimate `json:"limit_ra_um"`
	// TimeFactor and CutFactor compare its time constant and its removal with
	// general ceramic.
	TimeFactor Estimate `json:"time_factor"`
	CutFactor  Estimate `json:"cut_factor"`
	// StartRaUM is the roughest surface it is any use on; 0 for no limit.
	StartRaUM  float64  `json:"start_ra_um"`
	PricePerKg Estimate `json:"price_per_kg"`
	Silica     bool     `json:"silica"` // its dust may hold crystalline silica
	Basis      string   `json:"basis"`
}

// MediaLot is one bag of media.
type MediaLot struct {
	Name   string  `json:"name"`             // as it stands on the bag
	Bought string  `json:"bought,omitempty"` // RFC 3339 full-date
	Kg     float64 `json:"kg"`
	// HoursRun is how long it has run, MeasuredMM the size of a piece as last
	// measured, on MeasuredOn.
	HoursRun   float64    `json:"hours_run"`
	MeasuredMM [2]float64 `json:"measured_mm,omitzero"`
	MeasuredOn string     `json:"measured_on,omitempty"`
}

// WornShare is the share of the new size at which the media are discarded: 1
// where none is given.
func (m Media) WornShare() float64 {
	if m.Worn > 0 && m.Worn <= 1 {
		return m.Worn
	}
	return 1
}

// VesselKind is how a vessel moves its load.
type VesselKind string

// The kinds.
const (
	Rotary      VesselKind = "rotary barrel"
	Vibratory   VesselKind = "vibratory bowl"
	Centrifugal VesselKind = "centrifugal barrel"
)

// Vessel is a barrel or a bowl.
type Vessel struct {
	Name       string     `json:"name"`
	Title      string     `json:"title"`
	Kind       VesselKind `json:"kind"`
	VolumeL    float64    `json:"volume_l"`
	DiameterMM float64    `json:"diameter_mm"` // inside, across the flats
	// RPMRange is what its drive can do; equal bounds for one speed; zero for a
	// bowl.
	RPMRange [2]float64 `json:"rpm_range"`
	// Count is how many there are alike; 0 stands for one.
	Count int `json:"count,omitempty"`
	// FreeInH is how many hours from now it is free.
	FreeInH float64 `json:"free_in_h,omitempty"`
	// DoseMLL is the shop's own dose of compound, ml for a litre of water; 0 takes
	// the trade's.
	DoseMLL float64 `json:"dose_ml_l,omitempty"`
	// MaxLoadKg is what the drive is rated for.
	MaxLoadKg float64 `json:"max_load_kg"`
	// Speedup is how much faster it works than a vibratory bowl.
	Speedup  Estimate `json:"speedup"`
	Wet      bool     `json:"wet"`
	Dry      bool     `json:"dry"`
	Closed   bool     `json:"closed"` // gas cannot leave
	RatePerH Estimate `json:"rate_per_h"`
	Basis    string   `json:"basis"`
}
