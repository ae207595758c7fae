package console

import (
	"fmt"
	"strings"
	"text/tabwriter"

	"lastroom/footwear"
	"lastroom/footwear/shelf"
	"lastroom/internal/problem"
)

// shelvedShoe is a shoe of the catalog or one of one's own. The folder of one's own is looked into only when it is needed.
func shelvedShoe(own, id string) (footwear.Sheet, error) {
	s, err := footwear.Demo().Find(id)
	if err == nil {
		return s, nil
	}
	sh, openErr := shelf.Open(own)
	if openErr != nil {
		if shelf.Own(id) || own != "" {
			return s, openErr
		}
		return s, err
	}
	if shelf.Own(id) {
		shoe, err := sh.Find(id)
		return shoe.Sheet, err
	}
	if view, _ := sh.View(); view != nil {
		_, err = view.Find(id) // which names near ones of both
	}
	return s, err
}

// viewShelf looks at the folder of one's own shoes; what can't be read is said and hides no other.
func viewShelf(c *call, own string) (*shelf.View, error) {
	s, err := shelf.Open(own)
	if err != nil {
		return nil, err
	}
	view, ps := s.View()
	for _, p := range ps {
		fmt.Fprintln(c.errOut, "roomcheck:", p)
	}
	return view, nil
}

func rowOf(s shelf.Shoe) shoeRow {
	return shoeRow{
		ID: s.Sheet.ID, Name: s.Sheet.Name, Kind: s.Sheet.Kind, Size: s.Sheet.Size.String(), Own: shelf.Own(s.Sheet.ID),
		Scan: s.Scan, Note: s.Sheet.Note,
	}
}

// String is the row with tabs between its columns.
func (r shoeRow) String() string {
	mine := ""
	if r.Own {
		mine = "your own"
	}
	if r.Scan != "" {
		mine += ", with scan"
	}
	return strings.Join([]string{r.ID, r.Name, r.Kind, r.Size, mine}, "\t")
}

// A shelfTask is what roomcheck shelf does on a shelf with its arguments; words are how many it needs.
type shelfTask struct {
	words int
	use   string
	do    func(c *call, s *shelf.Shelf, words []string, out, size string) error
}

func shelfTasks() map[string]shelfTask {
	return map[string]shelfTask{
		"list":   {0, "list", listShelf},
		"import": {1, "import FILE.json", func(c *call, s *shelf.Shelf, w []string, _, _ string) error { return c.added(s.Import(w[0])) }},
		"export": {1, "export ID --out FILE.json", exportShelf},
		"copy":   {1, "copy ID", func(c *call, s *shelf.Shelf, w []string, _, _ string) error { return c.added(s.Copy(w[0])) }},
		"grade":  {1, `grade ID --size "EU 43"`, gradeShelf},
		"delete": {1, "delete ID", deleteShelf},
		"undo":   {0, "undo", undoShelf},
	}
}

func runShelf(c *call) error {
	var own, out, size string
	c.flags.StringVar(&own, "shelf", "", "")
	c.flags.StringVar(&out, "out", "", "")
	c.flags.StringVar(&size, "size", "", "")
	words, err := c.parse()
	if err != nil {
		return err
	}
	if len(words) == 0 {
		words = []string{"list"}
	}
	task, ok := shelfTasks()[words[0]]
	if !ok {
		return problem.Problem{
			Field: "arguments", Value: clipped(words[0]), Limit: "one of list, import, export, copy, grade, delete, undo", Mend: "see roomcheck help",
		}
	}
	if len(words) != task.words+1 {
		return problem.Problem{Field: "arguments", Value: strings.Join(words, " "), Limit: "roomcheck shelf " + task.use, Mend: "see roomcheck help"}
	}
	s, err := shelf.Open(own)
	if err != nil {
		return err
	}
	return task.do(c, s, words[1:], out, size)
}

func listShelf(c *call, s *shelf.Shelf, _ []string, _, _ string) error {
	all, ps := s.All()
	rows := make([]shoeRow, len(all))
	for i, shoe := range all {
		rows[i] = rowOf(shoe)
	}
	last, undoable := s.Last()
	if c.asJSON {
		doc := map[string]any{"folder": s.Dir(), "shoes": rows, "problems": append(problem.Problems{}, ps...)}
		if undoable {
			doc["undo"] = map[string]string{"what": last.What, "id": last.ID, "name": last.Name}
		}
		return c.json(doc)
	}
	for _, p := range ps {
		fmt.Fprintln(c.errOut, "roomcheck:", p)
	}
	w := tabwriter.NewWriter(c.out, 0, 0, 2, ' ', 0)
	for _, r := range rows {
		fmt.Fprintln(w, r)
	}
	if err := w.Flush(); err != nil {
		return err
	}
	if len(rows) == 0 {
		fmt.Fprintln(c.out, "no shoes of your own yet in", s.Dir())
	}
	if undoable {
		fmt.Fprintf(c.out, "undo would bring back %s (%s)\n", last.Name, last.What)
	}
	return nil
}

// added says which shoe came onto the shelf.
func (c *call) added(shoe shelf.Shoe, err error) error {
	if err != nil {
		return err
	}
	if c.asJSON {
		return c.json(map[string]any{"shoe": rowOf(shoe)})
	}
	fmt.Fprintln(c.out, shoe.Sheet.ID)
	return nil
}

func exportShelf(c *call, s *shelf.Shelf, words []string, out, _ string) error {
	if out == "" {
		return problem.Problem{Field: "--out", Limit: "a file's name is needed", Mend: "give a name that ends in .json"}
	}
	names, err := s.Export(words[0], out, false)
	if err != nil {
		return err
	}
	if c.asJSON {
		return c.json(map[string]any{"files": names})
	}
	for _, n := range names {
		fmt.Fprintln(c.out, n)
	}
	return nil
}

func gradeShelf(c *call, s *shelf.Shelf, words []string, _, size string) error {
	to, err := footwear.ParseSize(size)
	if err != nil {
		return err
	}
	return c.added(s.Graded(words[0], to, footwear.GradeOptions{}))
}

func deleteShelf(c *call, s *shelf.Shelf, words []string, _, _ string) error {
	if err := s.Delete(words[0]); err != nil {
		return err
	}
	if c.asJSON {
		return c.json(map[string]any{"deleted": words[0]})
	}
	fmt.Fprintf(c.out, "%s is in the trash; roomcheck shelf undo brings it back\n", words[0])
	return nil
}

func undoShelf(c *call, s *shelf.Shelf, _ []string, _, _ string) error {
	step, err := s.Undo()
	if err != nil {
		return err
	}
	if c.asJSON {
		return c.json(map[string]any{"undone": map[string]string{"what": step.What, "id": step.ID, "name": step.Name}})
	}
	fmt.Fprintf(c.out, "%s is back as it was before it was %s\n", step.ID, step.What)
	return nil
}
