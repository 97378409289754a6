package series

import "math"

// Cell is what is kept of the readings of one channel in one slice of time.
// The zero Cell holds no readings; its values then mean nothing.
type Cell struct {
	Count uint32
	Mean  float64
	M2    float64 // sum of squared deviations from the mean
	Min   float64
	Max   float64
	Last  float64
}

// Add takes one more reading into the cell.
//
// Source: B. P. Welford, Technometrics 4 (1962) 419, from memory.
func (c *Cell) Add(v float64) {
	c.Count++
	if c.Count == 1 {
		*c = Cell{Count: 1, Mean: v, Min: v, Max: v, Last: v}
		return
	}
	d := v - c.Mean
	c.Mean += d / float64(c.Count)
	c.M2 += d * (v - c.Mean)
	c.Min = min(c.Min, v)
	c.Max = max(c.Max, v)
	c.Last = v
}

// Merge takes the readings of a later cell into c.
func (c *Cell) Merge(o Cell) {
	if o.Count == 0 {
		return
	}
	if c.Count == 0 {
		*c = o
		return
	}
	n, m := float64(c.Count), float64(o.Count)
	d := o.Mean - c.Mean
	c.Mean += d * m / (n + m)
	c.M2 += o.M2 + d*d*n*m/(n+m)
	c.Count = uint32(min(uint64(c.Count)+uint64(o.Count), math.MaxUint32))
	c.Min = min(c.Min, o.Min)
	c.Max = max(c.Max, o.Max)
	c.Last = o.Last
}

// Value returns the mean of the cell, NaN where it holds no reading.
func (c Cell) Value() float64 {
	if c.Count == 0 {
		return math.NaN()
	}
	return c.Mean
}

// StdDev returns the sample standard deviation of the readings in the cell, NaN
// below two readings.
func (c Cell) StdDev() float64 {
	if c.Count < 2 {
		return math.NaN()
	}
	return math.Sqrt(c.M2 / float64(c.Count-1))
}
