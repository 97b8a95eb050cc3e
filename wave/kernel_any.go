//go:build !(goexperiment.simd && amd64)

package wave

// bestKernel returns the fastest kernel of this build.
func bestKernel() kernel { return plain }
