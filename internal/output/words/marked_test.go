package words

import (
	"fmt"
	"maps"
	"os"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"

	"fettle"
	"fettle/demo"
	"fettle/internal/output/draw/drawtest"
	"fettle/internal/output/tongue"
	"fettle/internal/trade/cusp"
	"fettle/internal/trade/learn"
	"fettle/internal/trade/stock"
)

// asData are fields that a page prints as they are: sentences that the trade rooms
// write in English, names from the shelf, the survey and files. docs/words.md lists
// them too.
var asData = map[string][]string{
	"plan": {
		"Plan.Title", "Material.Title", "Look.Title", "Survey.File", "Plan.Verdict", "Stock.Says", "Plan.Missing", "Plan.Warnings", "Plan.LeftOut",
		"Offer.Title", "Offer.Says", "Offer.Steps", "Rule.ID", "Input.Name", "Estimate.Basis", "Solid.File", "Solid.Says", "Opening.ID",
		"Step.Name", "Step.Do", "Step.Look", "Step.Why", "Step.Caution", "Charge.Vessel", "Charge.WaterLevel", "Charge.Compound", "LookHours.Look", "LeftAsCut.Says",
		"Mark.Cause", "Mark.Lay", "Mark.Says", "Plan.AllowanceUM", "Plug.Says", "Mask.Place", "Mask.Says",
		"PriceLine.Name", "PriceLine.Says", "Dearest.Says", "Bottleneck.Says", "Bottleneck.Name", "Price.Rounding", "Caution.Says", "Caution.Defer",
	},
	"explain":    {"Plan.Title", "Material.Title", "Look.Title", "Step.Name", "Account.Of", "Account.Law", "Account.Source", "Estimate.Basis", "Input.Name"},
	"survey":     {"Survey.File", "Survey.Format", "Opening.ID", "Corner.ID", "Corner.Opening", "Corner.Zone", "Zone.ID", "Repair.Says", "Survey.Warnings", "Survey.Beside", "FileBody.Name", "FileBody.In"},
	"promise":    {"Promise.Chain", "Move.Says", "Move.What", "PromiseStep.Resource", "PromiseStep.Name", "PromiseStep.Waits", "Promise.Basis"},
	"acceptance": {"Acceptance.Look", "Acceptance.Sample", "AcceptLimit.Place", "Acceptance.Notes", "AcceptLimit.Says", "AcceptLimit.Basis", "SamplingPlan.Says", "SamplingPlan.Source", "FirstArticle.What", "FirstArticle.Name", "FirstArticle.Wanted"},
	"offers":     {"Proposal.Words", "Answer.Look", "Answer.Words", "Offer.Title", "Offer.Says"},
	"reach": {"Reach.File", "Opening.ID", "MediaReach.Title", "MediaReach.Name", "MediaReach.Why", "ZoneReach.Zone", "LeftAsCut.Says", "Jam.Opening", "Jam.Why",
		"Plug.Says", "EdgeWear.Place", "FaceAllowance.Place", "Mask.Place", "Mask.Says"},
	"proof": {"Proof.File", "Proof.Number", "Proof.Offset", "Proof.TimeBasis", "Proof.Advice", "Proof.Zones", "ProofTool.Cutter", "Estimate.Basis", "NotUnderstood.Text", "NotUnderstood.Consequence", "Finding.Says", "Finding.Try"},
	"block": {"Block.Part", "Block.Zone", "Block.Patch", "Block.Grit", "Block.Says", "Block.Warnings", "PaperCut.Says"},
	"plug":  {"PlugFit.Part", "PlugFit.Opening", "PlugFit.Form", "PlugFit.Soft", "PlugFit.Says", "PlugFit.Do", "PlugFit.Warnings", "PlugStep.Name"},
	"jaw": {"JawPocket.Name", "JawPocket.Part", "JawPocket.Pair", "JawPocket.Warnings", "JawPocket.Cutter", "Jaws.Title", "Jaws.Name", "Jaws.Metal", "Caution.Says", "Caution.Defer", "PocketPose.Fixed", "PocketPose.Moving",
		"PocketLevel.Says", "JawRoom.To", "PocketStop.Says", "Cut.Says", "Cut.Cutter", "Estimate.Basis", "HoldingWay.Name", "HoldingWay.Says", "HoldingWay.Unit", "Holding.Says", "Holding.Assumes", "JawTried.Pair", "JawTried.Says"},
	"learned": {"Parameter.Name", "Parameter.Unit", "Parameter.Media", "Parameter.Vessel", "Parameter.Says", "Learned.Refused", "Learned.Warnings", "NextReading.Media", "NextReading.Says"},
	"texture": {"Texture.File", "Texture.Format", "Texture.Instrument", "Texture.Date", "Texture.Notes", "TextureForm.Name", "Evaluation.CutoffFrom", "Measure.Name", "Measure.Unit"},
	"shelf": {"Material.Name", "Material.Title", "Look.Name", "Look.Says", "Cutter.Name", "Cutter.Title", "Grit.Name", "Media.Name", "Media.Title", "Vessel.Name", "Vessel.Title", "Machine.Name", "Machine.Title",
		"Jaws.Name", "Jaws.Title", "Soft.Name", "Soft.Title", "Soft.Says", "Rates.Basis", "JawCut.Name"},
	"cusp": {"Result.Basis"},
}

// logic are fields whose words the room reads: they stay as they are, and what comes of
// them must be marked all the same, unless asData has them too.
var logic = []string{
	"Money.Currency", "Price.Currency", "Rates.Currency", "Bottleneck.Kind", "Opening.Form", "Chance.Word", "Account.Of", "Account.Unit", "Input.Unit", "Stroke.Kind", "Block.Surface", "Proof.Units", "Proof.Lay",
	"Texture.Kind", "Evaluation.FilterEnds", "Evaluation.CutoffFrom", "Measure.Name", "Measure.Unit", "TextureForm.Name", "TextureProfile.Along", "Parameter.Unit", "HoldingWay.Unit", "PromiseStep.Resource",
	"Promise.Day", "Proposal.Sent", "Proposal.Until", "Answer.Day", "Acceptance.Day", "FirstArticle.Unit", "AcceptLimit.Unit", "Jaws.Title",
}

// units and symbols that no language changes.
var symbols = strings.Fields("mm cm µm g kg l ml h min s N m MPa e USD Ra Rq Rz Sa Sq X Y Z x y F T")

// tokens puts a sign in the place of every text, and remembers where each stood.
type tokens struct {
	signs map[string]string   // by field and text
	field map[string]string   // by sign
	kept  map[string][]string // words by the field of logic that they stand in
}

func newTokens() *tokens {
	return &tokens{map[string]string{}, map[string]string{}, map[string][]string{}}
}

func (k *tokens) sign(field, text string) string {
	if text == "" || slices.Contains(logic, field) {
		k.kept[field] = append(k.kept[field], aWord.FindAllString(strings.ToLower(text), -1)...)
		return text
	}
	s, ok := k.signs[field+"\x00"+text]
	if !ok {
		s = fmt.Sprintf("§%d", len(k.signs)+1)
		k.signs[field+"\x00"+text], k.field[s] = s, field
	}
	return s
}

// replace is a value with its texts replaced. Texts of a named type are words of a
// fixed list, but for a few that are data.
func (k *tokens) replace(v reflect.Value, field string) reflect.Value {
	out := reflect.New(v.Type()).Elem()
	switch v.Kind() {
	case reflect.String:
		out.SetString(v.String())
		if v.Type().PkgPath() == "" || v.Type() == reflect.TypeFor[fettle.JawTurn]() {
			out.SetString(k.sign(field, v.String()))
		}
	case reflect.Struct:
		out.Set(v)
		for i := range v.NumField() {
			if f := v.Type().Field(i); f.IsExported() {
				name := v.Type().Name() + "." + f.Name
				if f.Anonymous {
					name = field
				}
				out.Field(i).Set(k.replace(v.Field(i), name))
			}
		}
	case reflect.Slice:
		if !v.IsNil() {
			out.Set(reflect.MakeSlice(v.Type(), v.Len(), v.Len()))
		}
		for i := range v.Len() {
			out.Index(i).Set(k.replace(v.Index(i), field))
		}
	case reflect.Map:
		if v.IsNil() {
			break
		}
		out.Set(reflect.MakeMap(v.Type()))
		for it := v.MapRange(); it.Next(); {
			out.SetMapIndex(k.replace(it.Key(), field), k.replace(it.Value(), field))
		}
	case reflect.Pointer:
		if !v.IsNil() {
			out.Set(reflect.New(v.Type().Elem()))
			out.Elem().Set(k.replace(v.Elem(), field))
		}
	default:
		out.Set(v)
	}
	return out
}

// unknown puts signs in the place of all texts of a value.
func unknown[T any](k *tokens, v T) T {
	return k.replace(reflect.ValueOf(&v).Elem(), reflect.TypeFor[T]().Name()).Interface().(T)
}

var (
	aSign = regexp.MustCompile(`§\d+`)
	aWord = regexp.MustCompile(`\p{L}+`)
)

// fullPlan is a plan with something in every place.
func fullPlan(t *testing.T) fettle.Plan {
	pl := *planOf(t, fettle.Metric)
	pl.Missing = []string{"fine cob would do it"}
	pl.Solids = []fettle.Solid{{File: "solids/block-show-1.3mf", Says: "a stiff block follows this face"}}
	pl.Plugs = []fettle.Plug{{Opening: "hole-1", Says: "hole-1 measures 5 mm"}}
	pl.Masks = []fettle.Mask{{Place: "edges of the show face", Says: "mask what must stay crisp"}}
	pl.Price.Dearest = &fettle.Dearest{Step: "pass", Says: "finishing makes 40 % of the price"}
	pl.Rules = []fettle.Rule{{ID: "grit-step", Cut: 3}, {ID: "no-jams", SetAside: true}}
	pl.Route = slices.Clone(pl.Route)
	for i := range pl.Route {
		if c := pl.Route[i].Charge; c != nil {
			own := *c
			own.Leaves = []fettle.LeftAsCut{{Says: "inside corners stay as cut"}}
			own.Tones = []fettle.ToneChoice{{Tone: fettle.ToneBright}, {Tone: fettle.ToneDark}, {Tone: fettle.ToneUsual}}
			own.Tone, own.RPM, own.CriticalRPM, own.VentEveryH, own.ChangeLiquidH = fettle.ToneDark, 45, 75, 1, 1
			pl.Route[i].Charge = &own
			marks := slices.Clone(pl.Route[0].Marks)
			for j := range marks {
				marks[j].Seen.P, marks[j].Left = 0.5, 0.2
				marks[j].Says = ""
				if j == 0 {
					marks[j].Says = "cusps follow the media and stay"
				}
			}
			pl.Route[i].Marks = append(marks, pl.Route[i].Marks...)
		}
	}
	pl.Route[0].Buff = &fettle.Buff{OpenShare: 0.5}
	return pl
}

// Every word on a page comes from the catalog, apart from what is data; and what is
// data is what asData and docs/words.md say.
func TestMarked(t *testing.T) {
	l := In(tongue.Marked())
	k := newTokens()
	pl := fullPlan(t)
	missed := pl
	missed.Meets, missed.Search.Proved = false, false
	book, err := learn.Read(t.Context(), demo.Logbook(), stock.Shelf())
	if err != nil {
		t.Fatal(err)
	}
	metric := fettle.Metric
	open := slab()
	open.Closed, open.Beside, open.Bodies = false, []string{"a drawing"}, 2
	open.InFile = []fettle.FileBody{{Number: 1, Name: "lid", In: []string{"hinge"}, Solid: true}, {Number: 2}}
	open.Corners = []fettle.Corner{{ID: "corner-1", RadiusMM: 1, Zone: "show"}}
	open.Openings = append(open.Openings, sampleReach().Openings...)
	swapped := drawtest.Pocket()
	swapped.Pose.Swapped, swapped.LoadsClear, swapped.Holding = true, true, nil
	profile := plate()
	profile.Kind = "profile"
	learned := book.Learned()
	learned.Warnings = []string{"two runs on one day"}
	shelf := stock.Shelf()
	shelf.Jaws[0].Cuts = []fettle.JawCut{{Name: "knob, stem"}}
	f, m := 0.2, 0.4
	pages := map[string]string{
		"plan":       l.Plan(unknown(k, pl)) + l.Plan(unknown(k, missed)) + l.Others([]*fettle.Plan{new(unknown(k, pl))}),
		"explain":    l.Explain(unknown(k, pl)),
		"survey":     l.Survey(unknown(k, slab()), metric) + l.Survey(unknown(k, open), metric),
		"promise":    l.Promise(new(unknown(k, *samplePromise())), metric) + l.Promise(nil, metric),
		"acceptance": l.Acceptance(new(unknown(k, *sampleAcceptance())), metric) + l.Acceptance(nil, metric),
		"offers":     l.Offers(unknown(k, sampleProposal(pl)), metric),
		"reach":      l.Reach(unknown(k, sampleReach()), metric),
		"proof":      l.Proof(unknown(k, proofOf()), metric),
		"block":      l.Block(unknown(k, sampleBlocks()), metric),
		"plug":       l.Plug(unknown(k, samplePlug()), metric),
		"jaw":        l.Jaw(unknown(k, drawtest.Pocket()), unknown(k, drawtest.Jaws()), metric) + l.Jaw(unknown(k, swapped), unknown(k, drawtest.Jaws()), metric),
		"learned":    l.Learned(unknown(k, learned), metric),
		"texture":    l.Texture(unknown(k, plate()), metric) + l.Texture(unknown(k, profile), metric),
		"shelf":      l.Shelf(unknown(k, shelf), metric),
		"cusp":       l.Cusp(unknown(k, cusp.Result{BallMM: 6, FeedMarkUM: &f, LatticeSqUM: &m, FacetMM: &f, FacetTurnDeg: &m, EffectiveMM: &f, Basis: "worked out"}), metric),
	}
	guide, err := os.ReadFile("../../../docs/words.md")
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range slices.Sorted(maps.Keys(pages)) {
		rest := tongue.Unmarked(pages[name])
		seen := map[string]bool{}
		for _, s := range aSign.FindAllString(rest, -1) {
			seen[k.field[s]] = true
		}
		for _, w := range aWord.FindAllString(aSign.ReplaceAllString(rest, ""), -1) {
			if !slices.Contains(symbols, w) && !slices.ContainsFunc(asData[name], func(field string) bool { return slices.Contains(k.kept[field], strings.ToLower(w)) }) {
				t.Errorf("%s: the word %q does not come from the catalog", name, w)
			}
		}
		for field := range seen {
			if !slices.Contains(asData[name], field) {
				t.Errorf("%s: %s is printed as it is, which asData does not say", name, field)
			}
			if !strings.Contains(string(guide), "`"+field+"`") {
				t.Errorf("docs/words.md does not say that %s is printed as it is", field)
			}
		}
		for _, field := range asData[name] {
			if !seen[field] && !slices.Contains(logic, field) {
				t.Errorf("%s: %s is not printed as it is any more", name, field)
			}
		}
	}
}
