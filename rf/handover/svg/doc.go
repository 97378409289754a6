// Package svg draws the few small charts of a handover page: a trace with its
// tolerance band, and the energy along the linac. It knows numbers and labels,
// not what they stand for.
//
// What a drawing must keep: a gap in the readings stays a gap and is never
// drawn through; a spike of a single reading stays visible however many
// readings fall on one column; nothing is told by colour alone. Text is escaped
// by html/template, whatever it holds. The drawings carry classes and no
// colours: the page's style sheet has them.
package svg
