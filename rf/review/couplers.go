package review

import (
	"fmt"
	"math"

	"dawncrest/rf"
)

// disagreeSigma is how far two couplers must be apart, in their common error, to
// be told.
const disagreeSigma = 3

// tellDisagreeing notes couplers that do not fit together in the reference: the
// input of a structure against its share of the station's power, and its output
// against its attenuation. Verdicts are on change, so nothing is flagged by it.
func (a *analysis) tellDisagreeing() {
	for _, s := range a.plant.Structures {
		station, ok := a.plant.Station(s.Station)
		if !ok || !s.TravellingWave() {
			continue
		}
		feed := a.referenceOf(station.Name, rf.CompressedPower)
		what := "compressed power"
		if math.IsNaN(feed) {
			feed, what = a.referenceOf(station.Name, rf.ForwardPower)*math.Pow(10, -station.WaveguideLossDB/10), "forward power"
			if station.HasCompressor() {
				feed = math.NaN()
			}
		}
		in, out := a.referenceOf(s.Name, rf.InputPower), a.referenceOf(s.Name, rf.OutputPower)
		a.compare(s.Name, "input power", in, feed*s.PowerShare, "its share of "+station.Name+" "+what)
		if a.plant.BeamCurrent == 0 {
			a.compare(s.Name, "output power", out, in*(1-s.CopperFraction()), "what its input leaves after its attenuation")
		}
	}
}

func (a *analysis) compare(place, what string, have, expected float64, of string) {
	off := have/expected - 1
	if math.Abs(off) > disagreeSigma*math.Sqrt2*couplerSigma {
		a.report.Notices = append(a.report.Notices, fmt.Sprintf("couplers disagree: %s %s is %s of %s", place, what, signed(100*off, "%"), of))
	}
}

func (a *analysis) referenceOf(place string, q rf.Quantity) float64 {
	if t := a.trace(place, q); t != nil {
		return t.Reference - t.Stepped
	}
	return math.NaN()
}
