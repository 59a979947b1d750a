// Package userfile reads what a user wrote: TOML, a JSON object or the argument of a
// flag, of which the place of every key and value is known, so that what is wrong
// is refused with file, line, column and what would be right.
//
// [Parse] gives the top level of the file as a [Table]. Whoever reads it asks for
// keys, one after the other, and gives limits and examples with them:
//
//	top, err := userfile.Parse("own.toml", text, "line")
//	if err != nil {
//		return err
//	}
//	top.Need("line", `{ name = "Quillmere" }`)
//	top.Sub("line", func(t *userfile.Table) {
//		t.Need("name", `"Quillmere"`)
//		name, _ = t.Text("name")
//		seed = t.Whole("seed", 0, math.MaxInt64, 1)
//	})
//	return top.End()
//
// A value that is refused reads as its default, or as nothing; the reading goes
// on, and [Table.End] gives the first thing that was wrong. A key that nobody
// asked for is wrong too.
//
// [ParseJSON] and [ParseWords] give the same [Table] of a JSON object and of a
// flag's argument. [Table.Graft] is a table in which one value comes from another
// text.
//
// # Paths
//
// A path names a value below a table: a key, or keys with points between; an
// element of an array has its number, from 0, in brackets. request[0].fields[1].name
// is the name of a field in the first [[command.request]] of a command. The empty
// path is the table itself.
package userfile
