// Package report writes pages that open anywhere: one HTML file with everything in it,
// which needs no network and no program but a browser, and may not reach for one.
//
// What came over a line is aggregated while it comes, in bounded memory: how much each
// station said and what its status was in steps of time that double, values in curves
// that are thinned out to the least and the most, response times by their length, and of
// the messages themselves the first, the latest, and those that went wrong. What was not
// kept is said in numbers. The data are a JSON object in the page, and scripts/filters
// work on that.
package report
