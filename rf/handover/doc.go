// Package handover carries what a review found to other people and other
// programs: the machine-readable review (dawncrest.review/1), the handover as
// Markdown, HTML, plain text and tables, and the shift book in which one shift
// finds what the last one knew.
//
// One [Content] is built from the report; every form of the handover only
// renders it, so that the forms cannot disagree. One function writes every
// time and one writes every number: a time always carries its offset, a number
// its unit, and what is not known says so and is never 0.
//
// Nothing here reads a clock: the time of writing, the version and the author
// come in as values of [Meta], and the same values give the same bytes.
package handover
