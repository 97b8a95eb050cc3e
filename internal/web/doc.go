// Package web serves Runnel's pages. A handler parses, calls package app and renders; every page is a struct that holds
// exactly what the page may show, in one template file with the fragments that are sent again while it is open.
//
// Everything a page needs is embedded and comes from the same origin; there is no inline script or style.
package web
