package answer_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"fieldfare/desk/answer"
)

// chance is the plain binomial sum, P(at least k of n good), worked with Pascal's triangle.
func chance(n, k int, lost float64) (p float64) {
	choose := []float64{1}
	for range n {
		next := make([]float64, len(choose)+1)
		for j := range next {
			if j < len(choose) {
				next[j] += choose[j]
			}
			if j > 0 {
				next[j] += choose[j-1]
			}
		}
		choose = next
	}
	for good := k; good <= n; good++ {
		p += choose[good] * math.Pow(1-lost, float64(good)) * math.Pow(lost, float64(n-good))
	}
	return p
}

// Hand-worked: two good days at 30 % lost. Of 3 days: 0.7³+3·0.7²·0.3 = 0.784; of 4: 1-0.3⁴-4·0.7·0.3³ =
// 0.9163. So two spare days.
func TestWeatherDaysByHand(t *testing.T) {
	if n, ok := answer.WeatherDays(2, 0.3); !ok || n != 2 {
		t.Errorf("2 days at 30 %%: %d spare (%v), want 2", n, ok)
	}
	for _, lost := range []float64{-0.1, 0.95, math.NaN()} {
		if _, ok := answer.WeatherDays(2, lost); ok {
			t.Errorf("a share of %v was taken", lost)
		}
	}
}

// The number is the least with which the binomial sum reaches nine in ten.
func TestWeatherDaysAreTheFewest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		days := rapid.IntRange(0, 12).Draw(t, "days")
		lost := rapid.Float64Range(0, 0.7).Draw(t, "lost")
		n, ok := answer.WeatherDays(days, lost)
		if !ok {
			t.Fatal("refused")
		}
		if p := chance(days+n, days, lost); p < 0.9-1e-9 {
			t.Fatalf("%d spare days give %v", n, p)
		}
		if n > 0 {
			if p := chance(days+n-1, days, lost); p >= 0.9+1e-9 {
				t.Fatalf("%d spare days already give %v", n-1, p)
			}
		}
	})
}
