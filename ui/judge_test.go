package ui

import (
	"context"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lastroom/fit/drawing"
	"lastroom/ui/desk"
)

func question(generation uint64, bevelDeg float64) desk.Check {
	in := desk.Demo()
	in.Device.BevelMedialDeg = bevelDeg
	return desk.Check{Generation: generation, Inputs: in}
}

func TestTheJudgeAnswersTheLatestQuestionOnly(t *testing.T) {
	reports := make(chan desk.Action, 16)
	j := newJudge(func(a desk.Action) {
		if _, after := a.(desk.Deepened); !after {
			reports <- a
		}
	})
	j.draws = -1
	j.ask(question(1, 30))
	j.ask(question(2, 25))
	j.ask(question(3, 20)) // nobody works yet: the first two are overtaken
	ctx, stop := context.WithCancel(context.Background())
	ended := make(chan struct{})
	go func() { j.run(ctx); close(ended) }()
	progress, ok := (<-reports).(desk.Progressed)
	require.True(t, ok)
	assert.EqualValues(t, 3, progress.Generation)
	assert.Contains(t, progress.Text, "EU 42")
	answer, ok := (<-reports).(desk.Answered)
	require.True(t, ok)
	assert.EqualValues(t, 3, answer.Answer.Generation)
	assert.InDelta(t, 20, answer.Answer.Inputs.Device.BevelMedialDeg, 0)

	j.ask(question(4, 25)) // the room is ready: no progress is told
	answer, ok = (<-reports).(desk.Answered)
	require.True(t, ok)
	assert.EqualValues(t, 4, answer.Answer.Generation)
	assert.Same(t, j.bench.Room, answer.Answer.Room)

	bad := question(5, 25)
	bad.Inputs.ShoeID = "none such"
	j.ask(bad)
	failed, ok := (<-reports).(desk.Failed)
	require.True(t, ok)
	assert.EqualValues(t, 5, failed.Generation)
	require.Error(t, failed.Err)
	stop()
	<-ended
	assert.Empty(t, reports)
}

func TestAQuestionAboutAnotherRoomStopsTheWork(t *testing.T) {
	reports := make(chan desk.Action, 16)
	var j *judge
	other := question(2, 30)
	other.Inputs.Size.Value = 43
	j = newJudge(func(a desk.Action) {
		if p, ok := a.(desk.Progressed); ok && p.Generation == 1 {
			j.ask(other) // comes while the first room is being made ready
		}
		reports <- a
	})
	j.draws = -1
	ctx, stop := context.WithCancel(context.Background())
	defer stop()
	go j.run(ctx)
	j.ask(question(1, 30))
	for {
		if a, ok := (<-reports).(desk.Answered); ok {
			assert.EqualValues(t, 2, a.Answer.Generation, "the first question was stopped, not answered")
			assert.InDelta(t, 43, a.Answer.Room.Sheet.Size.Value, 0)
			return
		}
	}
}

func TestThePainterDrawsTheLatestWishOfEachViewInTurn(t *testing.T) {
	p := newPainter()
	var drawn []int
	done := make(chan struct{}, 8)
	wishFor := func(v drawing.View, width int) {
		p.want(sheet{view: v, width: width, height: 8, done: func(*drawing.Picture, error) {
			drawn = append(drawn, width)
			done <- struct{}{}
		}})
	}
	wishFor(drawing.Behind, 1)
	wishFor(drawing.Behind, 2)
	wishFor(drawing.Above, 3)
	wishFor(drawing.Side, 4)
	ctx, stop := context.WithCancel(context.Background())
	ended := make(chan struct{})
	go func() { p.run(ctx); close(ended) }()
	for range 3 {
		<-done
	}
	stop()
	<-ended
	assert.Equal(t, []int{2, 4, 3}, drawn, "the overtaken wish is not drawn")
}
