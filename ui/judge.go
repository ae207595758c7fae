package ui

import (
	"context"
	"errors"
	"fmt"
	"sync"

	"lastroom/device"
	"lastroom/fit"
	"lastroom/ui/desk"
)

// judge answers questions in the background. It keeps one question only, the latest; a question about another room
// stops the one at work, one about the same room waits for it, so that the verdict follows an option that is dragged.
type judge struct {
	report func(desk.Action) // called from the judge's goroutine
	draws  int               // of the odds; 0: as many as usual, negative: no odds

	mu      sync.Mutex
	next    *desk.Check
	working desk.RoomKey
	cancel  context.CancelFunc
	deep    bool // the answer is given; what comes after it gives way to any question
	wake    chan struct{}

	room  desk.RoomKey // of bench
	bench *fit.Bench
}

func newJudge(report func(desk.Action)) *judge {
	return &judge{report: report, wake: make(chan struct{}, 1)}
}

// ask puts a question in the place of any that waits.
func (j *judge) ask(q desk.Check) {
	j.mu.Lock()
	j.next = &q
	if j.cancel != nil && (j.deep || j.working != q.Inputs.Room()) {
		j.cancel()
	}
	j.mu.Unlock()
	select {
	case j.wake <- struct{}{}:
	default:
	}
}

// run answers until the context ends.
func (j *judge) run(ctx context.Context) {
	for {
		select {
		case <-ctx.Done():
			return
		case <-j.wake:
		}
		for ctx.Err() == nil {
			q, work := j.take(ctx)
			if q == nil {
				break
			}
			answer, err := j.answer(work, q)
			switch {
			case err == nil:
				j.report(desk.Answered{Answer: answer})
				j.deepen(work, answer)
			case errors.Is(err, context.Canceled):
			default:
				j.report(desk.Failed{Generation: q.Generation, Err: err})
			}
		}
	}
}

// take takes the waiting question, and the context to work on it in.
func (j *judge) take(ctx context.Context) (*desk.Check, context.Context) {
	j.mu.Lock()
	defer j.mu.Unlock()
	if j.cancel != nil {
		j.cancel()
		j.cancel = nil
	}
	q := j.next
	j.next = nil
	if q == nil {
		return nil, ctx
	}
	work, cancel := context.WithCancel(ctx)
	j.cancel, j.working, j.deep = cancel, q.Inputs.Room(), false
	return q, work
}

// answer judges the question's device in its room.
func (j *judge) answer(ctx context.Context, q *desk.Check) (*desk.Answer, error) {
	if err := j.prepare(ctx, q); err != nil {
		return nil, err
	}
	d, err := deviceOf(q.Inputs)
	if err != nil {
		return nil, err
	}
	bench := j.bench.WithUnsure(q.Inputs.Limits())
	if q.Inputs.Learnt != nil {
		bench = bench.WithGives(*q.Inputs.Learnt)
	}
	r, err := bench.Check(ctx, d, q.Inputs.Foot)
	if err != nil {
		return nil, err
	}
	return &desk.Answer{
		Generation: q.Generation, Inputs: q.Inputs, Room: bench.Room, Walls: bench.Tree(), Bench: bench, Device: d, Result: r,
	}, nil
}

// deepen works out what the answer's device gives and how sure the answer is, and reports each as it comes. The next question
// stops it.
func (j *judge) deepen(ctx context.Context, a *desk.Answer) {
	j.mu.Lock()
	j.deep = true
	waits := j.next != nil
	j.mu.Unlock()
	if waits || a.Result.Status != fit.Converged {
		return
	}
	var depth desk.Depth
	tell := func() {
		if ctx.Err() == nil {
			j.report(desk.Deepened{Generation: a.Generation, Depth: depth})
		}
	}
	in := a.Inputs
	ordered := a.Device
	if o := in.Ordered; in.Scanned == nil && o != in.Device && o.Material != "" {
		o.FootLengthMM, o.Sex, o.Side = in.Device.FootLengthMM, in.Device.Sex, in.Device.Side
		if d, err := device.Build(o); err == nil {
			ordered = d
		}
	}
	if figures, err := a.Bench.Support(ctx, a.Device, ordered, in.Foot, in.Axis()); err == nil {
		depth.Support = figures
		tell()
	}
	if j.draws < 0 {
		return
	}
	odds, err := a.Bench.Odds(ctx, a.Device, in.Foot, fit.OddsOptions{Draws: j.draws, Partial: func(o *fit.Odds) {
		depth.Odds = o
		tell()
	}})
	if err == nil {
		depth.Odds = odds
	}
	depth.Done = true
	tell()
}

// prepare makes the question's room ready, unless it is.
func (j *judge) prepare(ctx context.Context, q *desk.Check) error {
	key := q.Inputs.Room()
	if j.bench != nil && j.room == key {
		return nil
	}
	shoe, err := q.Shoes.Find(key.ShoeID)
	if err != nil {
		return err
	}
	j.report(desk.Progressed{
		Generation: q.Generation, Text: fmt.Sprintf("Measuring out the room of %s, %s …", shoe.Sheet.Name, key.Size),
	})
	room, err := shoe.Room(ctx, key.Size, key.InsoleIn)
	if err != nil {
		return err
	}
	bench, err := fit.NewBench(ctx, room)
	if err != nil {
		return err
	}
	j.bench, j.room = bench, key
	return nil
}

// deviceOf is the inputs' device: the scanned one, or the one built of the options.
func deviceOf(in desk.Inputs) (*device.Device, error) {
	if in.Scanned != nil {
		return in.Scanned.Device, nil
	}
	return device.Build(in.Device)
}
