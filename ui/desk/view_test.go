package desk_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lastroom/device"
	"lastroom/fit"
	"lastroom/ui/desk"
)

func TestVerdictView(t *testing.T) {
	s, _ := run(start(), desk.Begin{}, desk.Progressed{Generation: 0, Text: "Measuring out the room …"})
	v := desk.VerdictView(&s)
	assert.Equal(t, desk.WaitMark, v.Mark)
	assert.Equal(t, "Measuring out the room …", v.Notice)
	assert.Contains(t, v.Limits, "qualified practitioner", "the caution stands there from the start")

	s, _ = run(s, desk.Answered{Answer: answer(t, s)})
	v = desk.VerdictView(&s)
	assert.Equal(t, desk.BlockedMark, v.Mark)
	assert.Equal(t, "blocked", v.Word)
	assert.Empty(t, v.Notice)
	assert.Equal(t, []desk.Reading{
		{Name: "ride-up", Text: "1.6 mm"},
		{Name: "tilt", Text: "0.5° everted"},
		{Name: "pitch", Text: "0.0°"},
		{Name: "slip", Text: "0.3 mm forward"},
	}, v.Readings)
	assert.Contains(t, v.Limits, "Check in the shoe on the wearer")

	s, _ = run(s, desk.Enter{Key: "cup_depth_mm", Text: "deep"})
	assert.Equal(t, `Not taken over: cup depth = "deep": not a number; type a number such as 20 mm.`+
		" What is shown answers the last good entry.", desk.VerdictView(&s).Notice)
	assert.False(t, desk.SceneStale(&s))
}

func TestListViews(t *testing.T) {
	s, _ := run(start(), desk.Begin{})
	assert.Empty(t, desk.FindingsView(&s))
	assert.Empty(t, desk.FootRoomView(&s))
	assert.Empty(t, desk.BaseView(&s))
	s, _ = run(s, desk.Answered{Answer: answer(t, s)})

	rows := desk.FindingsView(&s)
	require.Len(t, rows, 2)
	assert.Equal(t, "1. wedge base · feather line, medial: overlap 1.6 mm ±0.8, blocked. "+
		"intended · grind 1.2 mm from the medial side · wall gives 0.0 mm · 33 mm²", rows[0].Text())
	assert.True(t, rows[0].Selected)
	assert.Equal(t, "2. cup wall · counter lateral: gap 0.4 mm ±0.6, snug. settled · wall gives 0.5 mm", rows[1].Text())
	assert.NotEqual(t, rows[0].Mark, rows[1].Mark)

	foot := desk.FootRoomView(&s)
	assert.Equal(t, "4.2 mm left, 10 mm wanted", foot[0].Value)
	assert.Equal(t, "not judged", foot[1].Word)
	base := desk.BaseView(&s)
	assert.Equal(t, "52.0 mm: 26.0 mm medial, 26.0 mm lateral of the bisection", base[0].Text)
	assert.Equal(t, "640 N·m/rad in the frontal plane, flat base", base[2].Text)
	assert.Contains(t, base[3].Text, "it rocks")

	a, b, c := desk.ListTitles(&s)
	assert.Equal(t, []string{"Findings (1 to see)", "Foot room (1 to see)", "Support"}, []string{a, b, c})
}

func TestSceneFollowsThePose(t *testing.T) {
	s, _ := run(start(), desk.Begin{})
	assert.Nil(t, desk.SceneOf(&s))
	assert.True(t, desk.SceneStale(&s))
	s, _ = run(s, desk.Answered{Answer: answer(t, s)})
	sc := desk.SceneOf(&s)
	assert.Equal(t, fit.Intended, sc.PoseName)
	assert.Equal(t, []int{1}, sc.Numbers, "numbers are those of the list")
	assert.Equal(t, 0, sc.Selected)
	assert.False(t, desk.SceneStale(&s))
	s, _ = run(s, desk.TogglePose{})
	sc = desk.SceneOf(&s)
	assert.Equal(t, []int{2}, sc.Numbers)
	assert.Equal(t, -1, sc.Selected)
	assert.Contains(t, desk.PoseLine(&s), "settled")
	assert.Contains(t, desk.OtherPoseLine(&s), "intended")
	s, _ = run(s, desk.Step{Key: "size", N: 1})
	assert.True(t, desk.SceneStale(&s), "another room: the old picture is greyed")
}

func TestEveryOptionHasAField(t *testing.T) {
	in := desk.Demo()
	for _, k := range device.Keys() {
		f, ok := desk.FieldByKey(k.Key)
		require.True(t, ok, k.Key)
		assert.NotEmpty(t, f.Group, k.Key)
		assert.NotEmpty(t, f.Help, k.Key)
		if k.IsNumber() {
			spec := f.Spec(in)
			assert.Positive(t, spec.Step, k.Key)
			assert.Less(t, spec.Min, spec.Max, k.Key)
			assert.InDelta(t, in.Device.Number(k.Key), f.Number(in), 1e-12, k.Key)
			text := f.Text(in)
			if text != "" {
				_, p := spec.Parse(text)
				assert.Nil(t, p, "%s: what is shown can be entered: %q", k.Key, text)
			}
			continue
		}
		assert.Len(t, f.Choices, len(k.Choices), k.Key)
		assert.Equal(t, in.Device.Get(k.Key), f.Choice(in), k.Key)
	}
}

func TestEveryNumberStepsAndEveryChoiceIsTaken(t *testing.T) {
	for _, f := range desk.Fields() {
		if f.Choices != nil {
			assert.NotEmpty(t, f.Choices, f.Key)
			for _, c := range f.Choices {
				s, _ := run(start(), desk.Choose{Key: f.Key, Value: c.Value})
				again, ok := desk.FieldByKey(f.Key)
				require.True(t, ok)
				assert.Equal(t, c.Value, again.Choice(s.Inputs), f.Key)
			}
			continue
		}
		up, _ := run(start(), desk.Step{Key: f.Key, N: 1})
		down, _ := run(start(), desk.Step{Key: f.Key, N: -1})
		assert.True(t, up.Inputs != start().Inputs || down.Inputs != start().Inputs, "%s does not step", f.Key)
	}
}

func TestAProblemStandsAtItsField(t *testing.T) {
	find := func(s desk.State, key string) (desk.FieldShow, desk.Group) {
		for _, g := range desk.FieldGroups(&s) {
			for _, f := range g.Fields {
				if f.Key == key {
					return f, g
				}
			}
		}
		t.Fatalf("no field %s", key)
		return desk.FieldShow{}, desk.Group{}
	}
	s, _ := run(start(), desk.Enter{Key: "cup_depth_mm", Text: "500"})
	f, g := find(s, "cup_depth_mm")
	assert.Equal(t, "500", f.Text, "what was entered stays")
	assert.Contains(t, f.Problem, "cup depth = 500 mm")
	assert.Equal(t, 1, g.Bad)

	s, _ = run(start(), desk.Enter{Key: "size", Text: "18"})
	f, g = find(s, "size")
	assert.Contains(t, f.Problem, "choose a nearer size")
	assert.Equal(t, desk.ShoeGroup, g.Title)

	s, _ = run(start(), desk.NextBuild{}, desk.Enter{Key: "heel_raise_mm", Text: "6"})
	f, _ = find(s, "heel_raise_mm")
	assert.NotEmpty(t, f.Problem, "a rule of the trade: no raise without a block")
	assert.NotContains(t, f.Problem, "heel_raise_mm", "the field's name, not its key")
}

func TestShoesView(t *testing.T) {
	s := start()
	all := desk.ShoesView(&s)
	assert.GreaterOrEqual(t, len(all), 18)
	s, _ = run(s, desk.Search{Text: "hikng boot"})
	found := desk.ShoesView(&s)
	require.NotEmpty(t, found)
	assert.Equal(t, "hiking-boot", found[0].ID, "a typing error is forgiven")
	assert.Contains(t, desk.ShoeLine(&s), "EU 42")
	assert.False(t, strings.Contains(desk.ShoeLine(&s), "\n"))
}
