// Package view writes what was found on a line for people and for scripts:
// sentences, JSON lines, a message taken apart byte by byte.
package view
