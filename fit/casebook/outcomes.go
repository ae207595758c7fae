package casebook

import (
	"context"
	"slices"

	"lastroom/fit"
)

// Outcomes are all that came of devices, in every case of the book, each under its case's code, in the order of the codes: what the odds
// are held against, and what fit.LearnGives learns from.
func (b *Book) Outcomes(ctx context.Context) ([]fit.Outcome, error) {
	found, _ := b.Search("", 0)
	byCode := map[string][]fit.Outcome{}
	var codes []string
	for _, e := range found {
		s, err := b.Get(ctx, e.ID)
		if err != nil {
			return nil, err
		}
		if list := s.Case.LearnFrom(); len(list) > 0 {
			byCode[s.Case.Code] = list
			codes = append(codes, s.Case.Code)
		}
	}
	slices.Sort(codes)
	var out []fit.Outcome
	for _, c := range codes {
		out = append(out, byCode[c]...)
	}
	return out, nil
}
