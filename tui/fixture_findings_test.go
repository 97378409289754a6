package tui

import (
	"errors"

	"dawncrest/rf"
	"dawncrest/rf/review"
	"dawncrest/rf/series"
)

func addFindings(r *review.Report) {
	r.Findings = []review.Finding{
		{
			Place: "S07", Station: "S07", Cause: review.CompressorDetuning, Verdict: review.OutOfTolerance, Quantity: rf.CompressorDetuning,
			Since: fixtureAt(360), Change: -34, Unit: "kHz", SlopePerH: -5.7, EnergyCost: 4.8e6, Beam: review.BeamMoved,
			Message: "compressor of S07 off tune by -34 kHz since 00:00, 4.8 MeV lost",
			Advice:  "warm the compressor's water by 0.6 K in two steps, wait and measure again after each; change nothing on the structures",
			Caution: "Hot pressurised water. Work on waveguides only with RF off and locked, by authorised people under local rules.",
			Evidence: []string{
				"input phase against forward phase moved by -13.1 deg since 00:00",
				"peak power gain 4.27 against 4.61 in the reference (-7.4 %)",
				"compressed power -7.7 %, forward power unchanged (+0.1 %)",
				"beam energy at transfer line fell by 8.3 MeV in the same hours",
			},
			NotLogged: []string{"temperature of the second cavity"},
		},
		{
			Place: "S11", Station: "S11", Cause: review.TooManyTrips, Verdict: review.OutOfTolerance, Quantity: rf.Trips,
			Since: fixtureAt(380), Change: 17, Unit: "1", EnergyCost: rf.Energy(nan), Beam: review.BeamNotKnown,
			Message: "S11 tripped 17 times, usual are 3 a day; most between 00:20 and 02:30, reason logged: reflected power",
			Advice:  "look at the reflected power before it is run up again; do not raise its voltage today",
			Caution: "High voltage and stored energy in the modulator; X-rays at the klystron while high voltage is on.",
			Evidence: []string{
				"17 trips in 12 h, 1.5 expected: chance below 1 in 10000",
				"13 of them within 150 minutes",
			},
		},
		{
			Place: "A15", Station: "S09", Cause: review.TemperatureSensor, Verdict: review.OutOfTolerance, Quantity: rf.WaterTemperature,
			Since: fixtureAt(120), Change: 0.61, Unit: "K", EnergyCost: rf.Energy(nan), Beam: review.BeamUnmoved, Step: true,
			Message:  "inlet thermometer of A15 jumped by +0.61 K at 20:00; phase advance and beam did not follow",
			Advice:   "do not retune A15 by this thermometer; have it checked",
			Evidence: []string{"phase advance moved by -0.1 deg where +0.61 K would make -10.7 deg"},
		},
		{
			Place: "S04", Station: "S04", Cause: review.ModulatorVoltage, Verdict: review.Drifting, Quantity: rf.BeamVoltage,
			Since: fixtureAt(300), Change: -4.1, Unit: "kV", EnergyCost: 2.3e6, Beam: review.BeamMoved, Step: true, Likely: true,
			Message:   "modulator voltage of S04 fell by 4.1 kV in one step at 23:00; power followed as V^2.5",
			Advice:    "ask who changed it: no set value is logged; then set it back and re-phase with beam",
			Caution:   "High voltage and stored energy in the modulator: authorised people only.",
			Evidence:  []string{"forward power -3.2 %, expected -3.2 % from the voltage", "perveance steady (+0.1 %)"},
			NotLogged: []string{"beam_voltage_set"},
		},
		{
			Place: "A08", Station: "S05", Cause: review.WaterDetuning, Verdict: review.Drifting, Quantity: rf.PhaseAdvance,
			Since: fixtureAt(240), Change: -8.9, Unit: "deg", SlopePerH: -1.1, ReachesAct: fixtureAt(790), EnergyCost: 1.6e6, Beam: review.BeamMoved,
			Message:  "A08 too warm by 0.51 K since 22:00; phase advance follows the water with the slope of physics",
			Advice:   "lower the water of A08 by 0.3 K, wait 24 min, measure again; then the rest",
			Caution:  "Hot pressurised water: by authorised people, one loop at a time.",
			Evidence: []string{"phase advance -17.3 deg/K of lagged water, physics says -17.6", "inlet water +0.52 K"},
		},
		{
			Place: "S12", Station: "S12", Cause: review.DataGap, Verdict: review.NoData, Since: fixtureAt(0), Change: nan, Unit: "",
			EnergyCost: rf.Energy(nan), Message: "no readings of S12 in the whole night", Advice: "ask whether its logger runs",
		},
		{
			Place: "S03", Station: "S03", Cause: review.SetPoint, Verdict: review.InTolerance, Quantity: rf.DrivePhase,
			Since: fixtureAt(420), Change: 2.5, Unit: "deg", EnergyCost: 0, Step: true,
			Message: "drive phase of S03 was set from 41.0 to 43.5 deg at 01:00, the readings followed", Advice: "nothing to do",
		},
	}
	r.NotJudged = []review.NotJudged{{Place: "S12", Why: "no readings"}, {Place: "A20", Quantity: rf.OutputPhase, Why: "phase not locked", Until: fixtureAt(760)}}
}

func addLog(r *review.Report) {
	r.Log = series.Log{Bytes: 91_400_000, Files: []series.File{
		{
			Name: "fen-2025-11-23.csv", Encoding: "UTF-8", Separator: ",", Decimal: ".", Layout: "wide", TimeForm: "RFC 3339", Zone: "stated",
			RowsKept: 43140, RowsRejected: 3, RowsMerged: 12, Missing: 5120, First: fixtureAt(0), Last: fixtureAt(fixtureCells),
			Rejects: []series.Reject{
				{File: "fen-2025-11-23.csv", Line: 20411, Column: "time", Err: errors.New("not a time: \"23:4\x1b[2J1\"")},
				{File: "fen-2025-11-23.csv", Line: 20412, Err: errors.New("11 cells where the header has 212")},
				{File: "fen-2025-11-23.csv", Line: 43144, Err: errors.New("cut inside the last row")},
			},
			Columns: []series.Column{
				{ColumnName: &series.ColumnName{Header: "S01 beam_voltage [kV]", Place: "S01", Quantity: rf.BeamVoltage, Unit: "kV"}, Readings: 43140, Min: 319.8, Max: 322.1, Mean: 321},
				{ColumnName: &series.ColumnName{Header: "A08 water_temperature [degF]", Place: "A08", Quantity: rf.WaterTemperature, Unit: "degF", Scale: "degF to degC"}, Readings: 43002, Missing: 138, Min: 40, Max: 40.9, Mean: 40.4},
				{ColumnName: &series.ColumnName{Header: "S07 klystron_mood", Guess: ""}, Readings: 43140, Min: 0, Max: 1, Mean: 0.5},
			},
			Notices: []string{"the clock was set back by 2 s at 01:00; 2 rows kept, in the order of their times"},
		},
		{Name: "fen-vacuum.csv", Err: errors.New("read header: fen-vacuum.csv line 1: no time column; name one with columns.csv")},
	}}
	r.Notices = []string{"beam current logged negative at S03: taken by magnitude"}
}
