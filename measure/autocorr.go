package measure

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/dsp/fourier"
)

// Autocorrelation returns the sample autocorrelation ρ_0 … ρ_maxLag [-] of x,
// with one mean and one divisor for all lags, so that the sequence is positive
// definite. Values that do not differ give ErrNoScatter.
//
//	ρ_k = Σ_{i<n−k}(x_i − m)(x_{i+k} − m) / Σ(x_i − m)²
//
// Source: Priestley, Spectral Analysis and Time Series (1981), 5.3.3.
func Autocorrelation(x []float64, maxLag int) ([]float64, error) {
	if err := atLeast("autocorrelation", len(x), 2); err != nil {
		return nil, err
	}
	if err := finite("autocorrelation", x); err != nil {
		return nil, err
	}
	d := centred(x)
	s := dot(d, d)
	if s == 0 {
		return nil, fmt.Errorf("autocorrelation of %d equal values: %w", len(x), ErrNoScatter)
	}
	maxLag = min(maxLag, len(x)-1)
	rho := make([]float64, maxLag+1)
	if maxLag*len(x) < 1<<16 {
		for k := range rho {
			rho[k] = dot(d[:len(d)-k], d[k:]) / s
		}
		return rho, nil
	}
	return lagSumsFFT(d, rho), nil
}

// lagSumsFFT fills rho with the autocorrelation of d, already centred, by the
// fast Fourier transform of the zero-padded series.
func lagSumsFFT(d, rho []float64) []float64 {
	size := 1
	for size < len(d)+len(rho) {
		size *= 2
	}
	pad := make([]float64, size)
	copy(pad, d)
	fft := fourier.NewFFT(size)
	c := fft.Coefficients(nil, pad)
	for i, v := range c {
		c[i] = complex(real(v)*real(v)+imag(v)*imag(v), 0)
	}
	fft.Sequence(pad, c)
	for k := range rho {
		rho[k] = pad[k] / pad[0]
	}
	return rho
}

// AutocorrelationTime returns τ = 1 + 2Σρ_k [samples]: how many neighbouring
// samples carry the information of one. The sum ends at the first pair of lags
// whose sum is not positive (initial positive sequence). It is 1 for white
// noise, above 1 for a slow trace, below 1 for one that alternates.
//
//	τ = −1 + 2Σ_{m≥0} Γ_m,  Γ_m = ρ_{2m} + ρ_{2m+1},  until Γ_m ≤ 0
//
// Source: Geyer, Statistical Science 7 (1992) 473, section 3.3.
func AutocorrelationTime(x []float64) (float64, error) {
	tau, _, err := lagWindow(x)
	return tau, err
}

// lagWindow returns Geyer's τ [samples] and the last lag that it sums.
func lagWindow(x []float64) (tau float64, last int, err error) {
	maxLag := min(64, len(x)-1)
	for {
		rho, err := Autocorrelation(x, maxLag)
		if err != nil {
			return 0, 0, err
		}
		tau, last, ended := initialPositive(rho)
		if ended || maxLag >= len(x)-1 {
			return max(tau, 1/float64(len(x))), last, nil
		}
		maxLag = min(16*maxLag, len(x)-1)
	}
}

// initialPositive sums an autocorrelation by Geyer's rule and says which lag was
// the last, and whether the rule ended the sum rather than the sequence.
func initialPositive(rho []float64) (tau float64, last int, ended bool) {
	tau = -1
	for m := 0; 2*m+1 < len(rho); m++ {
		pair := rho[2*m] + rho[2*m+1]
		if pair <= 0 {
			return tau, max(0, 2*m-1), true
		}
		tau += 2 * pair
		last = 2*m + 1
	}
	return tau, last, false
}

// NEff returns the effective number of independent samples in x [-], for the
// uncertainty of its mean.
//
//	n_eff = n/(1 + 2Σρ_k)
//
// The sum is cut as in AutocorrelationTime. Source: Geyer (1992), as above;
// Zieba and Ramza, Metrol. Meas. Syst. 18 (2011) 529, for its use with readings.
func NEff(x []float64) (float64, error) {
	tau, err := AutocorrelationTime(x)
	if err != nil {
		return 0, err
	}
	return float64(len(x)) / tau, nil
}

// NEffAR1 returns the effective number of independent samples [-] of n samples of
// a first-order autoregressive series with lag-1 correlation rho [-].
//
//	n_eff = n/(1 + 2Σ_{k=1}^{n−1}(1 − k/n)ρ^k)
//
// For long series it tends to n(1 − ρ)/(1 + ρ), NEffAR1Long. Source: Bayley and
// Hammersley, J. R. Stat. Soc. Suppl. 8 (1946) 184.
func NEffAR1(n int, rho float64) float64 {
	sum, pow := 0.0, 1.0
	for k := 1; k < n; k++ {
		pow *= rho
		sum += (1 - float64(k)/float64(n)) * pow
		if math.Abs(pow) < 1e-18 {
			break
		}
	}
	return float64(n) / (1 + 2*sum)
}

// NEffAR1Long returns the limit of NEffAR1 for a long series [-], for n samples
// with lag-1 correlation rho [-].
//
//	n_eff = n(1 − ρ)/(1 + ρ)
//
// Source: Bayley and Hammersley (1946), as NEffAR1.
func NEffAR1Long(n int, rho float64) float64 {
	return float64(n) * (1 - rho) / (1 + rho)
}

// lagOneFreed returns the lag-1 autocorrelation of y [-] freed of the bias of a short series, within 0 and 1 − 1/n.
//
//	E(r_1) − ρ ≈ −(1 + 4ρ)/n
//
// Source: Marriott and Pope, Biometrika 41 (1954) 390, and Kendall, ibid. 403.
func lagOneFreed(y []float64) float64 {
	n := float64(len(y))
	r := max(0, lagOne(y))
	return min(1-1/n, r+(1+4*r)/n)
}

// varianceAR1 returns the variance of y [unit of y, squared] as of a first-order series with lag-1 correlation rho, freed of
// what the mean takes off.
//
//	σ² = S/(n − n/n_eff)
func varianceAR1(y []float64, rho float64) float64 {
	n := float64(len(y))
	return SumSquares(y) / (n - n/NEffAR1(len(y), rho))
}

// NeweyWest returns the standard uncertainty of the mean of x [unit of x] by the
// Bartlett-weighted lag sum up to lag, a second route to the one by NEff.
//
//	u² = (γ_0 + 2Σ_{k=1}^{L}(1 − k/(L+1))γ_k)/n,  γ_k with divisor n
//
// Source: Newey and West, Econometrica 55 (1987) 703.
func NeweyWest(x []float64, lag int) (float64, error) {
	rho, err := Autocorrelation(x, lag)
	if err != nil {
		return 0, err
	}
	n := float64(len(x))
	sum := 1.0
	for k := 1; k < len(rho); k++ {
		sum += 2 * (1 - float64(k)/float64(lag+1)) * rho[k]
	}
	return math.Sqrt(SumSquares(x) / n * sum / n), nil
}

// centred returns x less its mean.
func centred(x []float64) []float64 {
	m := Mean(x)
	d := make([]float64, len(x))
	for i, v := range x {
		d[i] = v - m
	}
	return d
}

// dot returns Σa_i·b_i over the shorter of the two, with four partial sums.
func dot(a, b []float64) float64 {
	b = b[:len(a)]
	var s0, s1, s2, s3 float64
	i := 0
	for ; i+4 <= len(a); i += 4 {
		s0 += a[i] * b[i]
		s1 += a[i+1] * b[i+1]
		s2 += a[i+2] * b[i+2]
		s3 += a[i+3] * b[i+3]
	}
	for ; i < len(a); i++ {
		s0 += a[i] * b[i]
	}
	return (s0 + s1) + (s2 + s3)
}
