package measure

import (
	"math"
	"slices"
)

// reducedAbove is the number of samples above which lag sums are taken over block
// means instead: the uncertainty of the mean is that of the mean of the blocks.
const reducedAbove = 16384

// settled computes the numbers of a stretch of good samples, at least two.
func settled(y []float64) Settled {
	n := float64(len(y))
	s := Settled{N: len(y)}
	s.Mean, s.SD = moments(y)
	s.Peak = peak(y)
	s.WaverRel = relative(2*s.SD, s.Mean)
	if s.SD == 0 {
		// A resting sensor: its resolution is a line of the budget, not of the trace.
		s.NEff, s.Dof, s.WaverRel = n, n-1, 0
		return s
	}
	b := y
	if len(y) > reducedAbove {
		b = blockMeans(y, len(y)/(reducedAbove/2))
	}
	s.U, s.Dof = meanUncertainty(b)
	if s.U == 0 { // the blocks do not differ although the samples do
		s.U, s.Dof = s.SD/math.Sqrt(n), n-1
	}
	s.NEff = min(n, s.SD*s.SD/(s.U*s.U))
	if s.NEff < soundTimes {
		s.Warnings = append(s.Warnings, Warning{
			Limit: "at least five autocorrelation times in the samples averaged (record longer)", Got: s.NEff,
		})
	}
	return s
}

// moments returns the mean and the standard deviation of y, at least two values, in
// two passes of four partial sums each about its first value: as good as Mean and SD
// for samples of a sensor, and several times as fast.
func moments(y []float64) (mean, sd float64) {
	n, shift := float64(len(y)), y[0]
	var s [4]float64
	for i, v := range y {
		s[i&3] += v - shift
	}
	mean = shift + ((s[0]+s[1])+(s[2]+s[3]))/n
	var q, r [4]float64
	for i, v := range y {
		d := v - mean
		q[i&3] += d * d
		r[i&3] += d
	}
	rest := (r[0] + r[1]) + (r[2] + r[3])
	mean += rest / n
	return mean, math.Sqrt(max(0, ((q[0]+q[1])+(q[2]+q[3])-rest*rest/n)/(n-1)))
}

// meanUncertainty returns the standard uncertainty of the mean of y [unit of y]
// and its degrees of freedom [-], from Geyer's lag sum up to lag M, freed of the
// bias that taking off the mean gives to each of its 2M + 1 terms.
//
//	u² = (S/n)·τ/(n − 2M − 1),  ν = n/(2M + 1)
//
// τ below 1 counts as 1: a mean is not claimed to be surer than that of
// independent samples. Where y holds fewer than fewTimes autocorrelation times the lag
// sum is short of what it cannot see; then u is at least that of a first-order series
// with the lag-1 correlation of y, freed of its bias. Source: Priestley, Spectral Analysis and Time Series (1981),
// 5.3.3, for the bias; Madras and Sokal, J. Stat. Phys. 50 (1988) 109, appendix C,
// for the variance 2(2M + 1)/n of τ, from which ν.
func meanUncertainty(y []float64) (u, dof float64) {
	n := float64(len(y))
	tau, last, err := lagWindow(y)
	if err != nil {
		return 0, 0
	}
	window := float64(min(2*last+1, (len(y)+1)/2))
	u = math.Sqrt(SumSquares(y) / n * max(1, tau) / (n - window))
	if n/max(1, tau) < fewTimes {
		rho := lagOneFreed(y)
		u = max(u, math.Sqrt(varianceAR1(y, rho)/NEffAR1(len(y), rho)))
	}
	return u, max(1, min(n-1, n/window))
}

// soundTimes is the number of autocorrelation times below which a mean is warned of: its interval holds the truth in about 90 %, as the same test shows.
const soundTimes = 5

// fewTimes is the number of autocorrelation times below which a trace says too little of how slow it is: own simulation of
// first-order series, repeated by a test.
const fewTimes = 10

// relative returns a over |mean| [-], and 0 where a mean of zero leaves no answer.
func relative(a, mean float64) float64 {
	if mean == 0 {
		return 0
	}
	return a / math.Abs(mean)
}

// peak returns the upper quantile of y, from at most some ten thousand samples.
func peak(y []float64) float64 {
	stride := max(1, len(y)/8192)
	p := make([]float64, 0, len(y)/stride+1)
	for i := 0; i < len(y); i += stride {
		p = append(p, y[i])
	}
	slices.Sort(p)
	return quantileSorted(p, peakQuantile)
}

// drifts fits a straight line through the steady part and says whether the trace
// moves along it by more than its own standard deviation, beyond chance (0.1 %). A
// lesser one is noted as a fault. A drift beyond the 5 % point adds to the
// uncertainty that of a rectangular distribution over it, |drift|/√12.
func (s *Settled) drifts(y []float64) bool {
	if s.SD == 0 {
		return false
	}
	b := blockMeans(y, max(1, len(y)/mostBlocks))
	b = blockMeans(b, decorrelation(b))
	if len(b) < 8 {
		return false
	}
	slope, _, _ := straightLine(b)
	d := detrended(b)
	m := float64(len(b))
	sxx := m * (m*m - 1) / 12
	u := math.Sqrt(dot(d, d) / (m - 2) / sxx)
	// Blocks that still hang together make the slope less sure: the factor of a
	// first-order series, its lag-1 correlation freed of the bias of a short one.
	r1 := min(0.9, lagOneFreed(d))
	u *= math.Sqrt((1 + r1) / (1 - r1))
	drift := slope * (m - 1)
	s.DriftRel = relative(drift, s.Mean)
	if math.Abs(slope) <= TQuantile(0.975, m-2)*u {
		return false
	}
	s.U = math.Hypot(s.U, drift/math.Sqrt(12))
	if math.Abs(slope) <= TQuantile(0.9995, m-2)*u {
		return false
	}
	s.Faults = addFault(s.Faults, Fault{Kind: FaultDrift, Channel: s.Name, From: s.From, To: s.To, Count: s.N})
	return math.Abs(drift) > s.SD
}

// filled returns the samples at index; where one is bad, as in a following channel, the last good value stands in.
func (s screen) filled(index []int) []float64 {
	y := make([]float64, len(index))
	last := 0.0
	for n, i := range index {
		if !s.bad[i] {
			last = s.X[i]
		}
		y[n] = last
	}
	return y
}

// meanCorrelation returns the correlation coefficients of the means of the
// channels over the samples at index: those of block means, so long that the
// slowest channel's no longer hang together.
func (j Joint) meanCorrelation(screens []screen) [][]float64 {
	index := j.Index
	if len(screens) == 1 {
		return [][]float64{{1}}
	}
	d := make([][]float64, len(screens))
	size := 1
	for k, s := range screens {
		y := j.samples(s)
		if len(y) < len(index) {
			y = s.filled(index)
		}
		d[k] = blockMeans(y, max(1, len(y)/mostBlocks))
		size = max(size, decorrelation(d[k]))
	}
	for k := range d {
		d[k] = centred(blockMeans(d[k], size))
	}
	r := make([][]float64, len(d))
	for i := range r {
		r[i] = make([]float64, len(d))
		r[i][i] = 1
		for k := range i {
			if s := math.Sqrt(dot(d[i], d[i]) * dot(d[k], d[k])); s > 0 {
				r[i][k] = min(1, max(-1, dot(d[i], d[k])/s))
				r[k][i] = r[i][k]
			}
		}
	}
	return r
}
