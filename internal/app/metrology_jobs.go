package app

import (
	"context"

	"runnel/assess"
)

// Verdict compares two rounds of a job that is kept here, whether the job asks for it or not. See VerdictBetween.
func (a *App) Verdict(ctx context.Context, id string, b Between) (VerdictAnswer, error) {
	k, _, err := a.open(ctx, id)
	if err != nil {
		return VerdictAnswer{}, err
	}
	return VerdictBetween(k.job, b)
}

// Match returns how evenly the openings flow in a round of a job that is kept here. See MatchOf.
func (a *App) Match(ctx context.Context, id, round, rig string) ([]assess.Match, error) {
	k, _, err := a.open(ctx, id)
	if err != nil {
		return nil, err
	}
	return MatchOf(k.job, round, rig)
}

// Budget returns the budget of a reading of a job that is kept here, with a Monte Carlo run when d asks for draws. See BudgetOf.
func (a *App) Budget(ctx context.Context, id, reading string, d Drawing, progress func(done, total int)) (BudgetAnswer, error) {
	k, _, err := a.open(ctx, id)
	if err != nil {
		return BudgetAnswer{}, err
	}
	return BudgetOf(ctx, k.job, reading, d, progress)
}
