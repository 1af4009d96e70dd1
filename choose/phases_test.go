package choose

import (
	"math"
	"math/rand/v2"
	"testing"
)

// TestAllocateAgainstEveryWay tries all 3^n ways of sharing up to eight loads.
func TestAllocateAgainstEveryWay(t *testing.T) {
	ratings := []float64{6, 10, 13, 16, 20, 32}
	r := rand.New(rand.NewPCG(3, 1))
	for range 400 {
		n := 1 + r.IntN(8)
		currents := make([]float64, n)
		for i := range currents {
			currents[i] = ratings[r.IntN(len(ratings))]
		}
		base := [3]float64{float64(r.IntN(40)), float64(r.IntN(40)), float64(r.IntN(40))}
		greatest, least := math.Inf(1), math.Inf(1)
		for way := range int(math.Pow(3, float64(n))) {
			sum := base
			for i := range currents {
				sum[way%3] += currents[i]
				way /= 3
			}
			most, in := max(sum[0], sum[1], sum[2]), neutralOf(sum)
			if most < greatest-1e-9 || most < greatest+1e-9 && in < least {
				greatest, least = most, in
			}
		}
		got := allocate(currents, base)
		if !got.Exact || math.Abs(max(got.Current[0], got.Current[1], got.Current[2])-greatest) > 1e-9 || math.Abs(got.Neutral-least) > 1e-9 {
			t.Errorf("Allocate(%v, %v) = %v, neutral %v, want most loaded %v, neutral %v", currents, base, got.Current, got.Neutral, greatest, least)
		}
	}
}

// TestAllocate49 is 49 garages of 32 A with 50 A on each line: practitioners'
// case D3, arithmetic on 17, 16 and 16 points.
func TestAllocate49(t *testing.T) {
	currents := make([]float64, 49)
	for i := range currents {
		currents[i] = 32
	}
	got := allocate(currents, [3]float64{50, 50, 50})
	if got.Current != [3]float64{594, 562, 562} || got.Neutral != 32 || !got.Exact {
		t.Errorf("Allocate(49 × 32 A) = %v, neutral %v, want 594, 562, 562 and 32 A", got.Current, got.Neutral)
	}
}

// TestAllocate24Mixed is 24 points of different settings: exact, and with no
// line above what a third of the sum and half a point would make.
func TestAllocate24Mixed(t *testing.T) {
	var currents []float64
	var sum float64
	for i := range 24 {
		currents = append(currents, 6+1.1*float64(i))
		sum += currents[i]
	}
	got := allocate(currents, [3]float64{})
	if most := max(got.Current[0], got.Current[1], got.Current[2]); !got.Exact || most > sum/3+0.2 {
		t.Errorf("Allocate(24 mixed) = %v (exact %v), want within 0.2 A of %v", got.Current, got.Exact, sum/3)
	}
}
