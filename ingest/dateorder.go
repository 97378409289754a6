package ingest

// orderProof gathers evidence for the order of day and month in one file.
type orderProof struct {
	open       bool // some date leaves the order open
	day, month bool // some date fits only this order

	lastDay, lastMonth int64 // the date before, in days, read in this order
	dayNear, monthNear int   // neighbouring dates one day apart, read in this order
}

// take looks at one more time of the file.
func (p *orderProof) take(text []byte) {
	asDay, fitsDay := readWritten(text, dayFirst)
	asMonth, fitsMonth := readWritten(text, monthFirst)
	if fitsDay && asDay.shape != shapeDayOrMonth || fitsMonth && asMonth.shape != shapeDayOrMonth || !fitsDay && !fitsMonth {
		return
	}
	p.day = p.day || !fitsMonth
	p.month = p.month || !fitsDay
	if !fitsDay || !fitsMonth {
		p.lastDay, p.lastMonth = 0, 0
		return
	}
	day, month := asDay.wall/86400, asMonth.wall/86400
	p.open = p.open || day != month
	if p.lastDay != 0 && day == p.lastDay+1 {
		p.dayNear++
	}
	if p.lastMonth != 0 && month == p.lastMonth+1 {
		p.monthNear++
	}
	p.lastDay, p.lastMonth = day, month
}

// order returns the order, and whether it is certain or does not matter. A day
// above 12 proves it; so does a night that passes midnight: the date then moves by
// one day in one order and by a month in the other.
func (p *orderProof) order() (order dateOrder, certain bool) {
	switch {
	case p.day && !p.month:
		return dayFirst, true
	case p.month && !p.day:
		return monthFirst, true
	case p.dayNear > 0 && p.monthNear == 0:
		return dayFirst, true
	case p.monthNear > 0 && p.dayNear == 0:
		return monthFirst, true
	}
	return monthFirst, !p.open
}
