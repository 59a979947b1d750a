package transmitter

import (
	"math/big"
	"math/rand/v2"
	"testing"
)

// Against arithmetic with 400 bits: two million numbers of all sizes and of both
// signs, of which a plain sum loses a part.
func TestSumAgainstExactArithmetic(t *testing.T) {
	const n = 2_000_000
	chance := rand.New(rand.NewPCG(1, 2))
	exact := new(big.Float).SetPrec(400)
	number := new(big.Float).SetPrec(400)
	var compensated sum
	var plain float64
	for range n {
		v := chance.NormFloat64() * []float64{1e-9, 1, 1e6}[chance.IntN(3)]
		compensated.add(v)
		plain += v
		exact.Add(exact, number.SetFloat64(v))
	}
	want, _ := exact.Float64()
	if got := compensated.value(); got != want {
		t.Errorf("got %v, want %v", got, want)
	}
	if plain == want {
		t.Error("got the same from a plain sum: the numbers show nothing")
	}
}
