package handover

import (
	"dawncrest/rf/review"
)

// cautions say, by kind of hazard, what stands beside any work that this
// handover may lead to.
var cautions = []struct {
	hazard review.Hazard
	text   string
}{
	{review.StoredEnergy, "Modulators hold hundreds of kilovolts and a stored energy that kills. Capacitors and pulse-forming networks stay charged after switch-off and can charge themselves again: switch off, lock out, discharge, short, hang the earthing stick, prove it dead. Only electrically qualified, authorised people, under the local permit."},
	{review.XRays, "Klystrons give off X-rays whenever high voltage is on, with or without drive; structures, cavities and windows do so from RF alone, without beam. Shielding stays on; the local radiation protection decides who comes near and measures it."},
	{review.RFLeakage, "RF leaks where a waveguide flange is loose or badly closed. No flange is touched unless the station is off and locked out; after any work on flanges, vacuum or gas the joints are surveyed before full power."},
	{review.PromptRadiation, "In the tunnel there is prompt radiation whenever beam or RF is on, and activated material after. Entry only through the personnel-protection interlock and as the local rules say. Nothing in a log shows that the tunnel is safe."},
	{review.HotWater, "Cooling water runs warm and under pressure: scalds, bursts, and water on electrics. Set points move in small steps, one loop at a time, with a wait of several thermal time constants; a sudden step throws compressors and guns on the same loop off tune."},
	{review.GasAndVacuum, "Evacuated and gas-filled parts implode, burst or suffocate; sulphur hexafluoride is heavier than air and leaves poisonous products after an arc. Only people trained for it, with the gas handled as the local rules say."},
	{review.HiddenDamage, "Reflected power or pressure that rises together with a drift points to damage, not to temperature. Do not raise high voltage or RF power to win energy back, and bypass no interlock: stop and ask whoever answers for the station."},
}

const deference = "These are reminders and no permission: local rules, permits, interlocks and the people authorised by them decide."

// cautionSection prints the cautions for the work that the findings lead to.
func cautionSection(r *review.Report) section {
	asked := make(map[review.Hazard]bool)
	for _, f := range r.Findings {
		if f.Verdict == review.InTolerance {
			continue
		}
		for _, h := range review.HazardsOf(f.Cause) {
			asked[h] = true
		}
	}
	for _, p := range r.Structures {
		asked[review.HotWater] = asked[review.HotWater] || p.Advice == review.Retune
	}
	s := section{key: "cautions", title: "Cautions"}
	for _, c := range cautions {
		if asked[c.hazard] {
			s.bullets = append(s.bullets, c.text)
		}
	}
	if s.bullets == nil {
		s.lead = []string{"Nothing here asks for hands on equipment. Whoever works on it all the same: high voltage and stored energy, X-rays, RF leakage, prompt radiation and hot pressurised water are there on a good day too."}
	}
	s.after = []string{deference}
	return s
}
