// Package console is the program without a screen: it reads a command's arguments, does the job with the packages below
// and prints plain text or, with --json, one JSON document. It holds no geometry.
//
// Exit codes: 0 it ran, 2 bad input (said on standard error, and as {"problems":[…]} with --json), 3 the seating did not
// converge, 1 anything else.
package console

import (
	"context"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io"
	"math"
	"os"
	"strings"

	"lastroom/fit"
	"lastroom/internal/problem"
)

// The exit codes.
const (
	ExitOK           = 0
	ExitFailed       = 1
	ExitBadInput     = 2
	ExitNotConverged = 3
)

// A command is one verb of the console.
type command struct {
	name, args, does string
	run              func(*call) error
}

// A call is one run of a command.
type call struct {
	ctx    context.Context
	args   []string
	out    io.Writer
	errOut io.Writer
	flags  *flag.FlagSet
	asJSON bool
}

func commands() []command {
	return []command{
		{"fit", "--shoe ID|FILE.json|SCAN.stl [--units mm|cm|dm|m|in] [--sock-mm N] [--lining-mm N] [--insole-mm N] [--shelf DIR] [--size \"EU 42\"] [--device PRESET|FILE.json|SCAN.stl] [--with key=value]… [--json]", "seat a device in a shoe and say where it touches", runFit},
		{"odds", "--shoe … [--size …] [--device …] [--with …] [--draws N] [--seed N] [--json]", "how sure the answer is, and which measure decides", runOdds},
		{"support", "--shoe … [--size …] [--device …] [--with …] [--axis-inclination-deg N] [--axis-deviation-deg N] [--json]", "what the device gives in this shoe, beside the device without --with and the plain one", runSupport},
		{"refit", "--shoe … [--device …] [--with …] [--keep key=same|value|least..most]… [--allow grind,lab,remake,shoe] [--prefer term=weight]… [--draws N] [--json]", "the smallest changes that let the device fit, and what support they cost", runRefit},
		{"screen", "--device … [--foot-length-mm N] [--with …] [--shelf DIR|FILE.json] [--best N | --first-look] | --shoes ID,ID@\"EU 43\" [--allow …] | --shoe ID --presets [--json]", "one device on the whole shelf, one device for several shoes, or one shoe with every preset", runScreen},
		{"outcome", "add --file F --case CODE --happened went-in|rubbed|ground|sent-back [--feature … --zone …] [--ground-mm N] [--date D] [--note …] --shoe … [--device …] [--with …] | list | reliability [--picture F.png] | learn --file F.json|CASEBOOK.db [--json]", "what came of a device in the real shoe, how reliable the odds were, and what the walls gave", runOutcome},
		{"sheet", "--shoe … [--size …] [--device …] [--with …] [--refit N] [--paper a4|letter] [--lengths mm|in] [--date 2026-11-27] [--code CASE] [--draws N] --out FILE.pdf|.txt|.json | --case FILE.lastroom … [--form pdf|txt|json] [--lengths mm|in] --out DIR", "the bench sheet for the lab: what to make or change, findings, support, odds, and templates at 1:1", runSheet},
		{"case", "list [WORDS] | show | new | add --shoe … --device … | note --text … | history | undo | redo | export --out FILE.lastroom | import FILE.lastroom [--code NEW] [--accept] | verify | demo | forget --yes | delete --yes, each with CODE [--casebook FILE] [--json]", "the casebook: cases under codes, with all that was tried and what came of it", runCase},
		{"open", "CASE.lastroom [--with key=value] [--text NOTE] [--out PROPOSAL.lastroom] [--json]", "a case that was sent, in words; with --out, a proposal to send back", runOpen},
		{"demo", "[--out DIR] [--json]", "the same for the demo case, with pictures of the three cuts in DIR", runDemo},
		{"keys", "[--json]", "what --with can set, with unit and limits", runKeys},
		{"shoes", "[WORDS…] [--shelf DIR] [--json]", "your own shoes and the catalog, or what they have for these words", runShoes},
		{"shelf", "list | import FILE.json | export ID --out FILE.json | copy ID | grade ID --size \"EU 43\" | delete ID | undo [--shelf DIR] [--json]", "your own shoes", runShelf},
		{"presets", "[--json]", "the prescriptions at hand", runPresets},
		{"show", "SHOE|FILE.json [--size \"EU 42\"] [--shelf DIR] [--json]", "a shoe's sheet of measures", runShow},
		{"export", "--shoe … [--size …] [--device …] [--with …] --out DIR", "room and device as STL, sheet and options as JSON", runExport},
		{"seat", "--room ROOM.stl --body BODY.stl [--load-n N] [--json]", "let any body come to rest in any room", runSeat},
		{"distance", "--room ROOM.stl --points POINTS.csv", "signed distance and nearest point, as CSV", runDistance},
		{"measure", "--shape FILE [--units mm|cm|dm|m|in] [--side right|left] [--json]", "read the measures off a scan of a last or of the inside of a shoe", runMeasure},
		{"size", "--foot-mm N | --from \"EU 42\" [--to UK] [--json]", "sizes of a foot, or of a size in another system", runSize},
		{"trace", "--photo FILE [--sheet a4|letter] [--what insole|pencil] [--side right|left] [--edge-height-mm N] [--corners \"x,y x,y x,y x,y\"] [--json]", "read the outline of an insole on a sheet of paper", runTrace},
	}
}

// Run carries out one command line (without the program's name) and returns the exit code.
func Run(ctx context.Context, args []string, out, errOut io.Writer) int {
	if len(args) == 0 {
		usage(errOut)
		return ExitBadInput
	}
	switch args[0] {
	case "help", "-h", "--help":
		usage(out)
		return ExitOK
	case "version", "--version":
		fmt.Fprintln(out, "roomcheck", fit.Version)
		return ExitOK
	}
	for _, c := range commands() {
		if c.name != args[0] {
			continue
		}
		cl := &call{ctx: ctx, args: args[1:], out: out, errOut: errOut, flags: flag.NewFlagSet(c.name, flag.ContinueOnError)}
		cl.flags.SetOutput(io.Discard)
		cl.flags.BoolVar(&cl.asJSON, "json", false, "")
		return cl.end(c, c.run(cl))
	}
	fmt.Fprintf(errOut, "roomcheck: there is no command %q; these are:\n\n", args[0])
	usage(errOut)
	return ExitBadInput
}

func usage(w io.Writer) {
	fmt.Fprintln(w, "roomcheck: does this foot orthosis go into this shoe, and where does it touch?")
	fmt.Fprintln(w)
	for _, c := range commands() {
		fmt.Fprintf(w, "  roomcheck %s %s\n      %s\n", c.name, c.args, c.does)
	}
	fmt.Fprintf(w, "\nLengths are millimetres, angles degrees, forces newtons. Exit: 0 ran, 2 bad input, 3 seating did not converge.\n%s\n", fit.Caution)
}

// errNotConverged ends a command that printed its answer but whose seating has none.
var errNotConverged = errors.New("the seating did not converge")

// end says an error and turns it into an exit code.
func (c *call) end(cmd command, err error) int {
	if err == nil {
		return ExitOK
	}
	if errors.Is(err, errNotConverged) {
		fmt.Fprintln(c.errOut, "roomcheck:", err)
		return ExitNotConverged
	}
	if errors.Is(err, flag.ErrHelp) {
		fmt.Fprintf(c.out, "roomcheck %s %s\n    %s\n", cmd.name, cmd.args, cmd.does)
		return ExitOK
	}
	var ps problem.Problems
	var one problem.Problem
	switch {
	case errors.As(err, &ps):
	case errors.As(err, &one):
		ps = problem.Problems{one}
	default:
		fmt.Fprintf(c.errOut, "roomcheck %s: %v\n", cmd.name, err)
		return ExitFailed
	}
	for _, p := range ps {
		fmt.Fprintf(c.errOut, "roomcheck %s: %v\n", cmd.name, p)
	}
	if c.asJSON {
		_ = c.json(map[string]any{"problems": ps})
	}
	return ExitBadInput
}

// parse reads the flags, in any order with the other arguments, which it returns.
func (c *call) parse() ([]string, error) {
	var rest []string
	args := c.args
	for {
		if err := c.flags.Parse(args); err != nil {
			if errors.Is(err, flag.ErrHelp) {
				return nil, err
			}
			return nil, problem.Problem{Field: "arguments", Value: strings.Join(c.args, " "), Limit: err.Error(), Mend: "see roomcheck help"}
		}
		args = c.flags.Args()
		if len(args) == 0 {
			return rest, nil
		}
		rest = append(rest, args[0])
		args = args[1:]
	}
}

// parseFlags reads the flags of a command that takes nothing else.
func (c *call) parseFlags() error {
	rest, err := c.parse()
	if err != nil || len(rest) == 0 {
		return err
	}
	return problem.Problem{Field: "arguments", Value: strings.Join(rest, " "), Limit: "this command takes flags only", Mend: "see roomcheck help"}
}

// json prints one document; numbers that are not finite become null.
func (c *call) json(v any) error {
	e := json.NewEncoder(c.out)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	return e.Encode(v)
}

// num is a number for JSON, rounded to a ten-thousandth; null when it is not finite.
type num float64

func (n num) MarshalJSON() ([]byte, error) {
	v := float64(n)
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return []byte("null"), nil
	}
	v = math.Round(v*1e4) / 1e4
	if v == 0 {
		v = 0
	}
	return json.Marshal(v)
}

func open(path, field string) (*os.File, error) {
	if path == "" {
		return nil, problem.Problem{Field: field, Limit: "a file is needed", Mend: "give its path"}
	}
	f, err := os.Open(path)
	if err != nil {
		var pe *os.PathError
		reason := err.Error()
		if errors.As(err, &pe) {
			reason = pe.Err.Error()
		}
		return nil, problem.Problem{File: path, Field: field, Limit: reason, Mend: "give the path of a file that can be read"}
	}
	if st, err := f.Stat(); err == nil && st.IsDir() {
		f.Close()
		return nil, problem.Problem{File: path, Field: field, Limit: "it is a folder", Mend: "give the path of a file"}
	}
	return f, nil
}
