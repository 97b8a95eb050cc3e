// Package handover writes the record that goes to the customer. [Build] turns a job and its assessment into a [Document], a
// tree of headings, paragraphs, tables and pictures; [Document.PDF] and [Document.HTML] write that one tree, so that paper
// and page cannot differ. Nothing is computed here and no clock is read: the same facts give the same bytes.
package handover
