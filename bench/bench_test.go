package bench_test

import (
	"math"
	"testing"

	"runnel/job"
)

// BenchmarkBudget corrects a typed reading, which is nearly all budget. A reading's budget should take under a millisecond.
func BenchmarkBudget(b *testing.B) {
	sit := sitting(b, benchCard(), sittingCard(), nil)
	ref := reference(b)
	for b.Loop() {
		if _, err := sit.Read(job.Reading{ID: "r", At: minutes(30), MeterDP: 1500, TestPressure: 7e3, UByEye: 0.002}, rigCard(), nil, ref); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkLongTrace corrects a trace of ten minutes at 1 kHz.
func BenchmarkLongTrace(b *testing.B) {
	const n = 600_000
	tr := job.Trace{Time: make([]float64, n), Channels: []job.Channel{{Name: "meter_dp", Values: make([]float64, n)}, {Name: "test_dp", Values: make([]float64, n)}}}
	r := seeded(1)
	for i := range n {
		tr.Time[i] = float64(i) / 1000
		tr.Channels[0].Values[i] = 1500 * (1 + 0.01*r.NormFloat64())
		tr.Channels[1].Values[i] = 7e3 * (1 + 0.003*r.NormFloat64())
	}
	sit := sitting(b, benchCard(), sittingCard(), nil)
	ref := reference(b)
	area := math.NaN()
	for b.Loop() {
		got, err := sit.Read(job.Reading{ID: "r", At: minutes(30), Trace: "t"}, rigCard(), map[string]job.Trace{"t": tr}, ref)
		if err != nil {
			b.Fatal(err)
		}
		area = got.EffectiveArea
	}
	b.ReportMetric(area*1e6, "mm²")
}
