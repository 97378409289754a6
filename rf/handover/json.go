package handover

import (
	"io"
	"math"

	"dawncrest/rf"
	"dawncrest/rf/review"
)

// ReviewSchema names the form of the object that JSON writes.
const ReviewSchema = "dawncrest.review/1"

type reviewJSON struct {
	Schema     string          `json:"schema"`
	Plant      word            `json:"plant"`
	From       word            `json:"from"`
	To         word            `json:"to"`
	Log        logJSON         `json:"log"`
	Stations   []stationJSON   `json:"stations"`
	Structures []structureJSON `json:"structures"`
	Loops      []loopJSON      `json:"water_loops"`
	Waypoints  []waypointJSON  `json:"waypoints"`
	Findings   []findingJSON   `json:"findings"`
}

type logJSON struct {
	Files    int    `json:"files"`
	Rows     int    `json:"rows"`
	Values   int    `json:"values"`
	Missing  int    `json:"missing"`
	Rejected int    `json:"rejected_rows"`
	Coverage figure `json:"coverage_percent"`
}

type stationJSON struct {
	Station              string         `json:"station"`
	Verdict              review.Verdict `json:"verdict"`
	Gain                 figure         `json:"energy_gain_MeV"`
	GainReference        figure         `json:"energy_gain_reference_MeV"`
	PeakPowerGain        figure         `json:"peak_power_gain"`
	PeakPowerGainDesign  figure         `json:"peak_power_gain_design"`
	EnergyMultiplication figure         `json:"energy_multiplication"`
	CompressorDetuning   figure         `json:"compressor_detuning_kHz"`
	Microperveance       figure         `json:"microperveance"`
	Efficiency           figure         `json:"efficiency"`
	ReflectedFraction    figure         `json:"reflected_fraction"`
	Trips                int            `json:"trips"`
	OnPercent            figure         `json:"rf_on_percent"`
}

type structureJSON struct {
	Structure     string         `json:"structure"`
	Station       string         `json:"station"`
	Loop          word           `json:"water_loop"`
	Verdict       review.Verdict `json:"verdict"`
	Detuning      figure         `json:"detuning_kHz"`
	DetuningCI    [2]figure      `json:"detuning_ci95_kHz"`
	PhaseSlip     figure         `json:"phase_slip_deg"`
	EnergyLoss    figure         `json:"energy_loss_MeV"`
	WaterChange   figure         `json:"water_change_K"`
	WaterChangeCI [2]figure      `json:"water_change_ci95_K"`
	Advice        review.Advice  `json:"advice"`
	Reason        string         `json:"reason"`
}

type loopJSON struct {
	Loop        string        `json:"water_loop"`
	Structures  []string      `json:"structures"`
	WaterChange figure        `json:"water_change_K"`
	Advice      review.Advice `json:"advice"`
	Reason      string        `json:"reason"`
}

type waypointJSON struct {
	Waypoint    string         `json:"waypoint"`
	Verdict     review.Verdict `json:"verdict"`
	Required    figure         `json:"required_MeV"`
	Budget      figure         `json:"budget_MeV"`
	Measured    figure         `json:"measured_MeV"`
	Margin      figure         `json:"margin_percent"`
	Closure     figure         `json:"closure_percent"`
	Arrival     figure         `json:"arrival_shift_ps"`
	Compression figure         `json:"bunch_compression_change_percent"`
	Without     []withoutJSON  `json:"without"`
}

type withoutJSON struct {
	Station  string   `json:"station"`
	Margin   figure   `json:"margin_percent"`
	Closes   bool     `json:"closes"`
	MadeUpBy []string `json:"made_up_by"`
}

type findingJSON struct {
	Place        string         `json:"place"`
	Cause        review.Cause   `json:"cause"`
	Likely       bool           `json:"likely"`
	Verdict      review.Verdict `json:"verdict"`
	Quantity     word           `json:"quantity"`
	Since        word           `json:"since"`
	Change       figure         `json:"change"`
	Unit         string         `json:"unit"`
	SlopePerH    figure         `json:"slope_per_h"`
	ReachesLimit word           `json:"reaches_limit_at"`
	EnergyCost   figure         `json:"energy_cost_MeV"`
	BeamNoticed  *bool          `json:"beam_noticed"`
	Message      string         `json:"message"`
	Advice       string         `json:"advice"`
	Evidence     []string       `json:"evidence"`
	NotLogged    []string       `json:"not_logged"`
}

// JSON writes the report as one object of the form [ReviewSchema]. Every key is
// always there; a number that is not known is null.
func JSON(w io.Writer, r *review.Report) error {
	o := reviewJSON{
		Schema: ReviewSchema,
		From:   instant(r.From),
		To:     instant(r.To),
		Log: logJSON{
			Files:    len(r.Log.Files),
			Rows:     r.Log.Rows(),
			Values:   r.Log.Values(),
			Missing:  r.Log.Missing(),
			Rejected: r.Log.RowsRejected(),
			Coverage: figure(r.Coverage),
		},
		Stations:   each(r.Stations, stationObject),
		Structures: each(r.Structures, structureObject),
		Loops:      each(r.Loops, loopObject),
		Waypoints:  each(r.Waypoints, waypointObject),
		Findings:   each(r.Findings, findingObject),
	}
	if r.Plant != nil {
		o.Plant = word(r.Plant.Name)
	}
	return writeJSON(w, o)
}

func stationObject(s review.StationResult) stationJSON {
	o := stationJSON{
		Station:              s.Station,
		Verdict:              s.Verdict,
		Gain:                 in(s.Gain, rf.Megaelectronvolt),
		GainReference:        in(s.GainReference, rf.Megaelectronvolt),
		PeakPowerGain:        figure(s.PeakPowerGain),
		PeakPowerGainDesign:  figure(s.PeakPowerGainDesign),
		EnergyMultiplication: figure(s.EnergyMultiplication),
		CompressorDetuning:   in(s.CompressorDetuning, rf.Kilohertz),
		Microperveance:       figure(s.Microperveance),
		Efficiency:           figure(s.EfficiencyPercent),
		ReflectedFraction:    figure(s.ReflectedPercent),
		Trips:                s.Trips,
		OnPercent:            figure(s.OnPercent),
	}
	if s.GainHeld {
		o.Gain = figure(math.NaN()) // the budget's stand-in is no reading of this night
	}
	return o
}

func structureObject(s review.StructureResult) structureJSON {
	return structureJSON{
		Structure:     s.Structure,
		Station:       s.Station,
		Loop:          word(s.Loop),
		Verdict:       s.Verdict,
		Detuning:      in(s.Detuning, rf.Kilohertz),
		DetuningCI:    [2]figure{in(s.DetuningLow, rf.Kilohertz), in(s.DetuningHigh, rf.Kilohertz)},
		PhaseSlip:     in(s.PhaseSlip, rf.Degree),
		EnergyLoss:    in(s.EnergyLoss, rf.Megaelectronvolt),
		WaterChange:   figure(s.WaterChangeK),
		WaterChangeCI: [2]figure{figure(s.WaterChangeLow), figure(s.WaterChangeUp)},
		Advice:        s.Advice,
		Reason:        s.Reason,
	}
}

func loopObject(l review.LoopResult) loopJSON {
	return loopJSON{
		Loop:        l.Loop,
		Structures:  each(l.Structures, itself),
		WaterChange: figure(l.WaterChangeK),
		Advice:      l.Advice,
		Reason:      l.Reason,
	}
}

func waypointObject(p review.WaypointResult) waypointJSON {
	return waypointJSON{
		Waypoint:    p.Waypoint,
		Verdict:     p.Verdict,
		Required:    in(p.Required, rf.Megaelectronvolt),
		Budget:      in(p.Budget, rf.Megaelectronvolt),
		Measured:    in(p.Measured, rf.Megaelectronvolt),
		Margin:      figure(p.MarginPercent),
		Closure:     figure(p.ClosurePercent),
		Arrival:     in(p.ArrivalShift, rf.Picosecond),
		Compression: figure(p.CompressionChangePercent),
		Without:     each(p.Without, withoutObject),
	}
}

func withoutObject(s review.WithoutStation) withoutJSON {
	return withoutJSON{
		Station:  s.Station,
		Margin:   figure(s.MarginPercent),
		Closes:   s.Closes,
		MadeUpBy: each(s.MadeUpBy, func(m review.MakeUp) string { return m.Station }),
	}
}

func findingObject(f review.Finding) findingJSON {
	return findingJSON{
		Place:        f.Place,
		Cause:        f.Cause,
		Likely:       f.Likely,
		Verdict:      f.Verdict,
		Quantity:     word(f.Quantity),
		Since:        instant(f.Since),
		Change:       figure(f.Change),
		Unit:         f.Unit,
		SlopePerH:    figure(f.SlopePerH),
		ReachesLimit: instant(f.ReachesAct),
		EnergyCost:   in(f.EnergyCost, rf.Megaelectronvolt),
		BeamNoticed:  beamNoticed(f.Beam),
		Message:      f.Message,
		Advice:       f.Advice,
		Evidence:     each(f.Evidence, itself),
		NotLogged:    each(f.NotLogged, itself),
	}
}

func beamNoticed(b review.BeamNoticed) *bool {
	if b == review.BeamNotKnown {
		return nil
	}
	moved := b == review.BeamMoved
	return &moved
}
