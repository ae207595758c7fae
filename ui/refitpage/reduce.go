package refitpage

import (
	"maps"
	"strings"

	"lastroom/fit"
)

// Reduce is what an action makes of a state, and what has to be done for it. It is pure.
func Reduce(s State, a Action) (State, []Effect) {
	switch a := a.(type) {
	case Open:
		if a.Case == nil || s.Case != nil && s.Case.Inputs == a.Case.Inputs {
			if s.Case == nil {
				s.Case = a.Case
			}
			return s, nil
		}
		running := s.Running
		s.Case, s.Found, s.Failure, s.Picked, s.Running = a.Case, nil, "", -1, false
		if running {
			return s, []Effect{Halt{}}
		}
	case AllowWork:
		s.Off = with(s.Off, a.Work, !a.On)
	case Keep:
		s.Kept = with(s.Kept, a.Pin, a.On)
	case TypePin:
		s.Typed, s.Refuse = strings.TrimSpace(a.Text), ""
		if s.Typed != "" {
			if _, err := fit.ParsePin(s.Typed); err != nil {
				s.Refuse = err.Error()
			}
		}
	case Matters:
		s.More = ""
		for _, t := range fit.SupportTerms {
			if t.Name == a.Term {
				s.More = a.Term
			}
		}
	case Search:
		return search(s)
	case Stop:
		if !s.Running {
			return s, nil
		}
		s.Running = false
		s.Serial++
		return s, []Effect{Halt{}}
	case Progressed:
		if s.Running && a.Serial == s.Serial {
			s.Progress = a.Progress
		}
	case Found:
		if s.Running && a.Serial == s.Serial {
			s.Running, s.Found, s.Picked = false, a.Refit, -1
			if len(a.Refit.Choices) > 0 {
				s.Picked = 0
			}
		}
	case Failed:
		if s.Running && a.Serial == s.Serial {
			s.Running, s.Failure = false, a.Err.Error()
		}
	case Pick:
		s.Picked = s.within(a.Index)
	case PickBy:
		s.Picked = s.within(s.Picked + a.N)
	case Apply:
		if c := s.Choice(); c != nil {
			return s, []Effect{Take{c}}
		}
	}
	return s, nil
}

func with[K comparable](m map[K]bool, k K, on bool) map[K]bool {
	out := map[K]bool{}
	maps.Copy(out, m)
	if on {
		out[k] = true
	} else {
		delete(out, k)
	}
	return out
}

func (s *State) within(i int) int {
	if s.Found == nil {
		return -1
	}
	return max(-1, min(i, len(s.Found.Choices)-1))
}

// Choice is the picked choice; nil for the device as it is.
func (s *State) Choice() *fit.Choice {
	if s.Found == nil || s.Picked < 0 || s.Picked >= len(s.Found.Choices) {
		return nil
	}
	return &s.Found.Choices[s.Picked]
}

func search(s State) (State, []Effect) {
	if s.Case == nil || s.Refuse != "" {
		return s, nil
	}
	o := fit.RefitOptions{Foot: s.Case.Inputs.Foot, Axis: s.Case.Inputs.Axis(), ShapeFromScan: s.Case.Inputs.Scanned != nil}
	for _, w := range fit.Works {
		if !s.Off[w] {
			o.Allow = append(o.Allow, w)
		}
	}
	if len(o.Allow) == 0 {
		s.Failure = "No kind of work is allowed: tick at least one."
		return s, nil
	}
	pins := []string{}
	for _, w := range Wishes {
		if s.Kept[w.Pin] {
			pins = append(pins, w.Pin)
		}
	}
	if s.Typed != "" {
		pins = append(pins, s.Typed)
	}
	for _, text := range pins {
		p, err := fit.ParsePin(text)
		if err != nil {
			s.Failure = err.Error()
			return s, nil
		}
		o.Keep = append(o.Keep, p)
	}
	for _, t := range fit.SupportTerms {
		if t.Name == s.More {
			o.Prefer = append(o.Prefer, fit.Preference{Key: t.Key, Weight: moreWeight})
		}
	}
	s.Serial++
	s.Running, s.Found, s.Failure, s.Picked, s.Progress = true, nil, "", -1, fit.RefitProgress{}
	return s, []Effect{Run{s.Serial, s.Case, o}}
}
