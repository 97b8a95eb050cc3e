package measure

import (
	"math"
	"slices"
)

const (
	mostBlocks  = 400 // blocks in which a trace is judged; the table of R is for runs of 400
	leastBlocks = 8   // fewer blocks cannot be judged
)

// A segment is a stretch of a trace without a barrier: the good samples of the
// channels that decide, and the block means in which steadiness is judged.
type segment struct {
	index []int32     // place of each good sample in the trace
	value [][]float64 // good samples of each channel
	size  int         // samples in a block
	block [][]float64 // block means of each channel
}

// segments parts the trace at its barriers and keeps what can be judged.
func segments(lead []screen, bad []bool, breaks []int) []segment {
	slices.Sort(breaks)
	cuts := append([]int{0}, slices.Compact(breaks)...)
	cuts = append(cuts, len(bad))
	var all []segment
	for k := 1; k < len(cuts); k++ {
		s := newSegment(lead, bad, cuts[k-1], cuts[k])
		if len(s.index) >= leastBlocks {
			s.thin()
			all = append(all, s)
		}
	}
	return all
}

func newSegment(lead []screen, bad []bool, from, to int) segment {
	s := segment{value: make([][]float64, len(lead))}
	n := 0
	for i := from; i < to; i++ {
		if !bad[i] {
			n++
		}
	}
	s.index = make([]int32, 0, n)
	for i := from; i < to; i++ {
		if !bad[i] {
			s.index = append(s.index, int32(i))
		}
	}
	for k := range lead {
		if n == to-from {
			s.value[k] = lead[k].X[from:to]
			continue
		}
		s.value[k] = make([]float64, n)
		for j, i := range s.index {
			s.value[k][j] = lead[k].X[i]
		}
	}
	return s
}

// thin chooses the block size: the smallest for which neighbouring block means
// are no longer correlated, in the channel that needs most, but not so small that
// there are more than mostBlocks. Averaging over a block thins the trace as
// taking every nth sample does, and keeps what the samples between them say.
func (s *segment) thin() {
	base := (len(s.index) + mostBlocks - 1) / mostBlocks
	m := 1
	means := make([][]float64, len(s.value))
	for k, v := range s.value {
		means[k] = blockMeans(v, base)
		m = max(m, decorrelation(means[k]))
	}
	s.size = base * m
	s.block = make([][]float64, len(means))
	for k := range means {
		s.block[k] = blockMeans(means[k], m)
	}
}

// decorrelation returns the least multiple m of the present spacing at which
// means over m neighbours are uncorrelated. It is judged in parts, each freed of
// its straight line, and the lower median of the parts counts, so that a start-up
// or a ramp in one part is not taken for noise that is slow everywhere.
func decorrelation(y []float64) int {
	parts := min(4, max(1, len(y)/50))
	need := make([]int, parts)
	for p := range need {
		need[p] = decorrelationOf(y[p*len(y)/parts:(p+1)*len(y)/parts], len(y)/30)
	}
	slices.Sort(need)
	return need[(parts-1)/2]
}

func decorrelationOf(y []float64, most int) int {
	y = detrended(y)
	for _, m := range []int{1, 2, 3, 4, 6, 8, 10, 13} {
		b := blockMeans(y, m)
		if m >= most || len(b) < 6 {
			return m
		}
		if lagOne(b) <= max(0.1, 1/math.Sqrt(float64(len(b)))) {
			return m
		}
	}
	return max(1, most)
}

// blockMeans returns the means of consecutive blocks of size values; what is left
// over at the end joins the last block.
func blockMeans(x []float64, size int) []float64 {
	if size <= 1 {
		return x
	}
	m := max(1, len(x)/size)
	b := make([]float64, m)
	for k := range b {
		end := (k + 1) * size
		if k == m-1 {
			end = len(x)
		}
		sum := 0.0
		for _, v := range x[k*size : end] {
			sum += v
		}
		b[k] = sum / float64(end-k*size)
	}
	return b
}

// detrended returns y less its least-squares straight line.
func detrended(y []float64) []float64 {
	slope, mean, mid := straightLine(y)
	d := make([]float64, len(y))
	for i, v := range y {
		d[i] = v - mean - slope*(float64(i)-mid)
	}
	return d
}

// straightLine fits y against its index: slope a sample, mean, and middle index.
func straightLine(y []float64) (slope, mean, mid float64) {
	mean = Mean(y)
	mid = float64(len(y)-1) / 2
	sxx, sxy := 0.0, 0.0
	for i, v := range y {
		d := float64(i) - mid
		sxx += d * d
		sxy += d * (v - mean)
	}
	if sxx > 0 {
		slope = sxy / sxx
	}
	return slope, mean, mid
}

// lagOne returns the lag-1 autocorrelation of y [-], 0 when y does not differ.
func lagOne(y []float64) float64 {
	d := centred(y)
	s := dot(d, d)
	if s == 0 {
		return 0
	}
	return dot(d[:len(d)-1], d[1:]) / s
}

// moving marks the blocks where the level moves in any channel, seen with the
// fast or the slow filter; and, where there are enough blocks, also in means over
// four of them, which see a ramp eight times as clearly.
func (s segment) moving() []bool {
	m := len(s.block[0])
	flag := make([]bool, m)
	for _, b := range s.block {
		markMoving(b, 1, max(2, min(5, m/40)), flag)
		if m >= 4*40 {
			markMoving(blockMeans(b, 4), 4, 2, flag)
		}
	}
	return flag
}

// markMoving sets flag, width of them for each block of b, where R exceeds its
// 99 % value both when the filter is run forward and when it is run backward,
// each taken to be late blocks late. After a large disturbance R stays high for
// many samples; the pass from the other side says where the disturbance ends.
func markMoving(b []float64, width, late int, flag []bool) {
	back := slices.Clone(b)
	slices.Reverse(back)
	for _, f := range []RFilter{RFast(), RSlow()} {
		forth := exceeds(b, f)
		rear := exceeds(back, f)
		slices.Reverse(rear)
		for k := range b {
			// Look ahead in the forward pass, behind in the other.
			if !slices.Contains(forth[k:min(len(b), k+late+1)], true) ||
				!slices.Contains(rear[max(0, k-late):k+1], true) {
				continue
			}
			end := (k + 1) * width
			if k == len(b)-1 {
				end = len(flag)
			}
			for i := k * width; i < end; i++ {
				flag[i] = true
			}
		}
	}
}

// exceeds says for each block whether R exceeds its 99 % value. A disturbance of
// hundreds of standard deviations would keep R high for hundreds of blocks after it
// is over; so where R passes ten times that value, the filters start anew at the
// first ten blocks that are steady by themselves.
func exceeds(b []float64, f RFilter) []bool {
	limit, err := RCritical(f, 0.99)
	if err != nil {
		panic("measure: " + err.Error())
	}
	over := make([]bool, len(b))
	for i := 0; i < len(b); {
		saturated := false
		for k, r := range RStatistic(b[i:], f, nil) {
			over[i+k] = r > limit
			if r > 10*limit {
				i += k + 1
				saturated = true
				break
			}
		}
		if !saturated {
			break
		}
		for i < len(b) && !atRest(b[i:min(i+restBlocks, len(b))]) {
			over[i] = true
			i++
		}
	}
	return over
}

const (
	restBlocks = 10   // blocks looked at for a new start
	restRatio  = 1.60 // 90 % point for ten normal values: own Monte Carlo, 2·10⁵ draws, ±0.01; a test draws it again
)

// atRest says whether a few blocks look steady by the ratio of their variance to
// their mean squared step.
//
// Source: von Neumann, Ann. Math. Stat. 12 (1941) 367.
func atRest(b []float64) bool {
	if len(b) < restBlocks {
		return false
	}
	return restRatioOf(b) <= restRatio
}

// restRatioOf returns twice the variance of b over its mean squared step [-], 1 on
// average for steady, uncorrelated values.
func restRatioOf(b []float64) float64 {
	step := 0.0
	for i := 1; i < len(b); i++ {
		step += (b[i] - b[i-1]) * (b[i] - b[i-1])
	}
	return rRatio(2*SumSquares(b), step)
}

// longest returns the longest steady run of blocks. Of some hundred blocks a few
// pass the 99 % value by chance; so two steady stretches parted by a marked one
// are joined when all three agree in their means.
func (s segment) longest() (best run, marked bool) {
	flag := s.moving()
	cur := run{-1, -1}
	for i := 0; i < len(flag); {
		if flag[i] {
			marked = true
			i++
			continue
		}
		j := i
		for j < len(flag) && !flag[j] {
			j++
		}
		next := run{i, j}
		if cur.i >= 0 && s.agree(cur, next) {
			next.i = cur.i
		}
		cur = next
		if cur.j-cur.i > best.j-best.i {
			best = cur
		}
		i = j
	}
	best = s.trim(s.guard(s.grow(best)))
	if whole := (run{0, len(flag)}); best != whole && s.alike(best) {
		return whole, false
	}
	return best, marked
}

// alike says whether what r leaves out before and after it lies no further from its mean than a slow needle takes it by chance: noise that hangs
// together from block to block as that of r does. To cut such a trace would pick the stretch that wavers least, and claim its mean too sure.
func (s segment) alike(r run) bool {
	n, m := r.j-r.i, len(s.block[0])
	if n < leastBlocks {
		return false
	}
	for _, y := range s.block {
		in := y[r.i:r.j]
		rho := lagOneFreed(in)
		v := varianceAR1(in, rho)
		for _, out := range []run{{0, r.i}, {r.j, m}} {
			if out.j == out.i {
				continue
			}
			u := math.Sqrt(v/NEffAR1(out.j-out.i, rho) + v/NEffAR1(n, rho))
			if math.Abs(Mean(y[out.i:out.j])-Mean(in)) > gapLimit*u {
				return false
			}
		}
	}
	return true
}

// guard leaves out a sixteenth of the trace after a moving level, for what is left
// of its tail is too flat to be seen: of 400 blocks, a little more than one memory of
// the slow filter.
func (s segment) guard(r run) run {
	if r.i > 0 {
		r.i += min(len(s.block[0])/16, (r.j-r.i)/4)
	}
	return r
}

// trim takes off the ends of r what adds more error to the mean, as a tail too
// flat for R to see, than its samples take away: in the channel that loses most,
// the number of blocks that leaves the least marginal standard error.
//
// Source: White, Simulation 69 (1997) 323, applied to either end.
func (s segment) trim(r run) run {
	if r.j-r.i < 2*leastBlocks {
		return r
	}
	head, tail := 0, 0
	for _, b := range s.block {
		y := slices.Clone(b[r.i:r.j])
		head = max(head, marginalError(y))
		slices.Reverse(y)
		tail = max(tail, marginalError(y))
	}
	if r.j-r.i-head-tail < leastBlocks {
		return r
	}
	return run{r.i + head, r.j - tail}
}

// marginalError returns how many values to take off the front of y, at most half
// of them, to leave the least S/(n − d)², S being the sum of squares of the rest;
// none unless that is a fifth less than with all of them, since the least of many
// is somewhere by chance.
func marginalError(y []float64) int {
	n, sum, sq, e := 0.0, 0.0, 0.0, 0.0
	mean := Mean(y)
	best, at := math.Inf(1), 0
	for d, v := range slices.Backward(y) {
		v -= mean
		n, sum, sq = n+1, sum+v, sq+v*v
		if d > len(y)/2 {
			continue
		}
		if e = (sq - sum*sum/n) / (n * n); e <= best {
			best, at = e, d
		}
	}
	if best > e/1.2 {
		return 0
	}
	return at
}

// grow takes in marked blocks at either end of r that agree with it, when nothing
// but them lies between r and the end of the segment.
func (s segment) grow(r run) run {
	m := len(s.block[0])
	if r.j-r.i < leastBlocks {
		return r
	}
	if head := (run{0, r.i}); head.j > 0 && head.j <= 10 && s.same(head, r, gapLimit) {
		r.i = 0
	}
	if tail := (run{r.j, m}); tail.j > tail.i && tail.j-tail.i <= 10 && s.same(tail, r, gapLimit) {
		r.j = m
	}
	return r
}

const (
	sideLimit = 2.81 // two-sided 0.5 % of the normal distribution: two stretches differ
	gapLimit  = 4.0  // wider, since a marked stretch was picked for standing out
)

// agree says whether the stretches a and b and the gap between them have the same
// mean in every channel.
func (s segment) agree(a, b run) bool {
	gap := run{a.j, b.i}
	return s.same(a, b, sideLimit) && s.same(gap, a, gapLimit) && s.same(gap, b, gapLimit)
}

// same says whether the means of the blocks of a and b differ by less than limit
// standard deviations in every channel, the longer one giving the scatter.
func (s segment) same(a, b run, limit float64) bool {
	for _, y := range s.block {
		ref := a
		if b.j-b.i > a.j-a.i {
			ref = b
		}
		sd := SD(y[ref.i:ref.j])
		if ref.j-ref.i < 5 {
			sd = SD(y)
		}
		u := sd * math.Sqrt(1/float64(a.j-a.i)+1/float64(b.j-b.i))
		if math.Abs(Mean(y[a.i:a.j])-Mean(y[b.i:b.j])) > limit*u {
			return false
		}
	}
	return true
}
