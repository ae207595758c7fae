package desk

import (
	"math"

	"lastroom/ui/entry"
)

// A FieldShow is one field as it is shown.
type FieldShow struct {
	Key, Name, Unit, Help string

	Text    string // of a number: what was entered when it was refused, else the number
	Empty   string
	Spec    entry.Spec
	Number  float64 // where the slider stands
	Unset   bool    // an optional number that is not entered: the slider stands where the program has it
	Choices []Choice
	Choice  string

	Problem string // what stands against it, in words
}

// A Group is some fields under one title.
type Group struct {
	Title  string
	Fields []FieldShow
	Bad    int // fields with a problem
}

// FieldGroups are all fields in their groups.
func FieldGroups(s *State) []Group {
	ruled := map[string]string{}
	for _, p := range s.Rules {
		if key := fieldOf(p); ruled[key] == "" {
			ruled[key] = plainProblem(p)
		}
	}
	var out []Group
	at := map[string]int{}
	for _, f := range Fields() {
		i, ok := at[f.Group]
		if !ok {
			i = len(out)
			at[f.Group] = i
			out = append(out, Group{Title: f.Group})
		}
		show := showField(s, &f)
		if show.Problem == "" {
			show.Problem = ruled[f.Key]
		}
		if show.Problem != "" {
			out[i].Bad++
		}
		out[i].Fields = append(out[i].Fields, show)
	}
	return out
}

func showField(s *State, f *Field) FieldShow {
	show := FieldShow{Key: f.Key, Name: f.Name, Help: f.Help, Empty: f.Empty, Choices: f.Choices}
	if f.Choices != nil {
		show.Choice = f.Choice(s.Inputs)
		return show
	}
	show.Spec = f.Spec(s.Inputs)
	show.Unit = show.Spec.Unit
	show.Text = f.Text(s.Inputs)
	show.Number = f.start(s.Inputs, show.Spec)
	if show.Unset = f.Optional && f.Number(s.Inputs) == 0; show.Unset && s.Shown != nil {
		// What the program chose stands in the device that it built.
		if v := s.Shown.Device.Options.Number(f.Key); v != 0 {
			show.Number, show.Empty = v, "auto "+show.Spec.Format(math.Round(v*10)/10)
		}
	}
	if p, ok := s.Refused[f.Key]; ok {
		show.Text, show.Problem = s.Typed[f.Key], p.Error()
	}
	return show
}
