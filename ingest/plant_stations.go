package ingest

import (
	"fmt"
	"math"

	"dawncrest/rf"
)

var stationTable = plantTable{
	file:  "stations.csv",
	about: "one row for each station, in beam order",
	columns: []entrySpec{
		{name: "station", about: "the station's name as it stands in the log's headings"},
		{name: "rated_power_MW", low: 0.001, high: 500, about: "the peak RF power in MW that the klystron is rated for"},
		{name: "microperveance", low: 0.01, high: 20, about: "beam current over beam voltage to the power of 1.5, times 1e6"},
		{name: "efficiency", low: 0.01, high: 1, percent: true, about: "RF power over beam power"},
		{name: "drift_length_m", blank: true, low: 0.01, high: 5, about: "the distance in m from the input gap of the klystron to its output gap; phase pushing follows from it"},
		{name: "rf_pulse_us", low: 0.01, high: 1e4, about: "the length of the RF pulse in us"},
		{name: "phase_flip_us", blank: true, low: 0.01, high: 1e4, about: "the time in us from the start of the pulse to the phase reversal, nothing where there is no pulse compressor"},
		{name: "compressor_q0", blank: true, low: 1000, high: 1e7, about: "the unloaded quality factor of the compressor's cavities"},
		{name: "compressor_beta", blank: true, low: 0.1, high: 100, about: "the coupling factor of the compressor's cavities"},
		{name: "compressor_tuned_degC", blank: true, low: 1, high: 99, about: "the temperature in degC at which the compressor is on tune"},
		{name: "waveguide_loss_dB", low: 0, high: 10, about: "the loss in dB from the klystron to the compressor or splitter, without sign"},
		{name: "crest_offset_deg", low: -180, high: 180, about: "the beam's phase from the crest in degrees, positive where the beam is later; 0 on the crest"},
		{name: "spare", optional: true, about: "yes for a hot spare that makes no energy now, else no"},
		{name: "conditioned_power_MW", optional: true, low: 0.001, high: 500, about: "the most power in MW that the station has held without trips"},
		{name: "drive_saturation_W", optional: true, low: 0.001, high: 1e5, about: "the drive power in W at which the klystron saturates"},
		{name: "phase_pushing_deg_per_percent", optional: true, low: -100, high: 100, about: "the measured phase change in degrees for each percent of beam voltage"},
		{name: "water_loop", optional: true, about: "the water loop that tunes the compressor"},
		{name: "trips_per_day", optional: true, low: 0, high: 1e4, about: "the station's usual number of trips in a day"},
	},
}

type stationRow struct {
	Station          entry `csv:"station"`
	RatedPower       entry `csv:"rated_power_MW"`
	Microperveance   entry `csv:"microperveance"`
	Efficiency       entry `csv:"efficiency"`
	DriftLength      entry `csv:"drift_length_m"`
	RFPulse          entry `csv:"rf_pulse_us"`
	PhaseFlip        entry `csv:"phase_flip_us"`
	CompressorQ0     entry `csv:"compressor_q0"`
	CompressorBeta   entry `csv:"compressor_beta"`
	CompressorTuned  entry `csv:"compressor_tuned_degC"`
	WaveguideLoss    entry `csv:"waveguide_loss_dB"`
	CrestOffset      entry `csv:"crest_offset_deg"`
	Spare            entry `csv:"spare"`
	ConditionedPower entry `csv:"conditioned_power_MW"`
	DriveSaturation  entry `csv:"drive_saturation_W"`
	PhasePushing     entry `csv:"phase_pushing_deg_per_percent"`
	WaterLoop        entry `csv:"water_loop"`
	TripsPerDay      entry `csv:"trips_per_day"`
}

func (p *plantReader) readStations() {
	rows, whole := readTable[stationRow](p, &stationTable)
	p.stationsWhole = whole
	for _, row := range rows {
		s := row.station(p)
		p.stationsWhole = p.stationsWhole && s.Name != ""
		p.plant.Stations = append(p.plant.Stations, s)
	}
	for i, row := range rows {
		p.plant.Stations[i].WaterLoop = p.newPlace(row.WaterLoop, rf.OfLoop)
	}
	if whole && len(rows) == 0 {
		p.stationsWhole = false
		p.faultAt(stationTable.file, 0, "", "has no rows", "write "+stationTable.about)
	}
}

// station checks a row, all but the water loop: a loop's name must not be that of
// a station that is still to come.
func (row stationRow) station(p *plantReader) rf.Station {
	s := rf.Station{
		Name:                      p.newPlace(row.Station, rf.OfStation),
		RatedPower:                rf.Power(p.number(row.RatedPower)) * rf.Megawatt,
		Microperveance:            p.number(row.Microperveance),
		Efficiency:                p.number(row.Efficiency),
		DriftLengthM:              p.number(row.DriftLength),
		RFPulse:                   rf.Interval(p.number(row.RFPulse)) * rf.Microsecond,
		PhaseFlip:                 rf.Interval(p.number(row.PhaseFlip)) * rf.Microsecond,
		CompressorTuned:           rf.Celsius(p.number(row.CompressorTuned)),
		WaveguideLossDB:           p.number(row.WaveguideLoss),
		CrestOffset:               rf.Phase(p.number(row.CrestOffset)) * rf.Degree,
		Spare:                     p.keyword(row.Spare, "yes", "no") == "yes",
		ConditionedPower:          rf.Power(p.number(row.ConditionedPower)) * rf.Megawatt,
		DriveSaturation:           rf.Power(p.number(row.DriveSaturation)) * rf.Watt,
		PhasePushingDegPerPercent: p.number(row.PhasePushing),
		TripsPerDay:               p.number(row.TripsPerDay),
	}
	s.CompressorQ0, s.CompressorBeta = row.compressor(p)
	if s.PhaseFlip >= s.RFPulse {
		p.fault(row.PhaseFlip, fmt.Sprintf("%s is not before the end of the pulse, %s", row.PhaseFlip.shown(), row.RFPulse.shown()), "write "+row.PhaseFlip.spec.about)
	}
	return s
}

// compressor returns unloaded quality factor and coupling factor of a station's
// compressor, which stand together with the phase reversal or not at all.
func (row stationRow) compressor(p *plantReader) (q0, beta float64) {
	if row.PhaseFlip.given() {
		const why = "a compressor is half given"
		return p.need(row.CompressorQ0, why), p.need(row.CompressorBeta, why)
	}
	for _, e := range []entry{row.CompressorQ0, row.CompressorBeta, row.CompressorTuned} {
		if e.given() && !row.PhaseFlip.dead {
			p.fault(row.PhaseFlip, "is empty, and "+e.spec.name+" is given", "write "+row.PhaseFlip.spec.about+" and no compressor column then")
			break
		}
	}
	return math.NaN(), math.NaN()
}
