// Package sim is a two-wire line in simulated time, with stations on it.
package sim
