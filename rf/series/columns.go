package series

// Columns returns the account of the columns over all files, in the order in which
// they are met: those that are taken for the same are one.
func (l Log) Columns() []Column {
	var all []Column
	at := map[ColumnName]int{}
	for _, f := range l.Files {
		for _, c := range f.Columns {
			if i, known := at[*c.ColumnName]; known {
				all[i] = all[i].With(c)
				continue
			}
			at[*c.ColumnName] = len(all)
			all = append(all, c)
		}
	}
	return all
}

// With returns the account of a column over the rows of another one too.
func (c Column) With(o Column) Column {
	switch {
	case o.Readings == 0:
	case c.Readings == 0:
		c.Min, c.Max, c.Mean = o.Min, o.Max, o.Mean
	default:
		c.Min, c.Max = min(c.Min, o.Min), max(c.Max, o.Max)
		c.Mean += (o.Mean - c.Mean) * float64(o.Readings) / float64(c.Readings+o.Readings)
	}
	c.Readings += o.Readings
	c.Missing += o.Missing
	c.Impossible += o.Impossible
	return c
}
