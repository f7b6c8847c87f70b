// Package folder reads and writes the site folder: the open format in which a
// site's whole record can be kept as plain files, brought into a book, and
// taken out again. FORMAT.md beside this file describes every file in it.
//
// Read never half-reads: it returns the whole record or every problem found.
// Write puts a book's entries back into files; what came as an original (a
// logger file, a survey, a notice) goes back byte for byte.
package folder
