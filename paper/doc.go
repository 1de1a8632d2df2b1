// Package paper puts a document on a terminal, on a page, on printed sheets or into a
// table file.
//
// Text writes for a terminal or a plain printer, HTML one page that stands alone, PDF
// printed pages in three sizes, CSV the tables for a spreadsheet. All carry the usual
// caution; in text and on the page it stands at the head and at the foot, and in print on
// every page. A mark is always a word or a sign; colour only repeats it. Every text is
// cleaned of control characters on its way out, so no record can steer a terminal, a page
// or a spreadsheet.
//
// The package knows documents only. It does not decide, compute or word anything, and
// it writes to the writer it is given and nowhere else.
//
// Incomplete: no drawings; a printed page has no marks for a program that reads it aloud,
// and only the scripts that its typeface has.
package paper
