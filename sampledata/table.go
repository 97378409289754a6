package sampledata

// axis is an even grid of detunings from -span to span.
type axis struct {
	spanKHz float64
	points  int
}

var (
	structureAxis  = axis{spanKHz: 400, points: 41}
	compressorAxis = axis{spanKHz: 200, points: 41}
	noAxis         = axis{points: 1}
)

func (a axis) at(i int) float64 {
	if a.points == 1 {
		return 0
	}
	return a.spanKHz * (2*float64(i)/float64(a.points-1) - 1)
}

// weights returns the first of four neighbouring points and the weights of the
// cubic through them. Beyond the grid its end stands.
func (a axis) weights(detuningKHz float64) (first int, w [4]float64) {
	if a.points == 1 {
		return 0, [4]float64{1}
	}
	x := (detuningKHz/a.spanKHz + 1) / 2 * float64(a.points-1)
	x = min(max(x, 0), float64(a.points-1))
	first = min(max(int(x)-1, 0), a.points-4)
	u := x - float64(first)
	w[0] = -(u - 1) * (u - 2) * (u - 3) / 6
	w[1] = u * (u - 2) * (u - 3) / 2
	w[2] = -u * (u - 1) * (u - 3) / 2
	w[3] = u * (u - 1) * (u - 2) / 6
	return first, w
}

// curve is a value along one axis.
type curve struct {
	axis   axis
	values []complex128
}

func (c curve) at(detuningKHz float64) complex128 {
	first, w := c.axis.weights(detuningKHz)
	var sum complex128
	for k := range min(4, c.axis.points) {
		sum += complex(w[k], 0) * c.values[first+k]
	}
	return sum
}

// surface is a value over two axes, stored row by row of the first.
type surface struct {
	rows, columns axis
	values        []complex128
}

func (s surface) at(rowKHz, columnKHz float64) complex128 {
	row, wr := s.rows.weights(rowKHz)
	column, wc := s.columns.weights(columnKHz)
	var sum complex128
	for i := range min(4, s.rows.points) {
		line := s.values[(row+i)*s.columns.points+column:]
		var part complex128
		for k := range 4 {
			part += complex(wc[k], 0) * line[k]
		}
		sum += complex(wr[i], 0) * part
	}
	return sum
}
