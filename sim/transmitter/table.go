package transmitter

// A Point of a table: an input of X percent gives an output of Y percent.
type Point struct{ X, Y float64 }
