// Package licences lists the modules that the two programs are built from, each with its licence, and holds
// docs/licences.md to that list. A licence is told from the words of the module's own licence files; a module whose words
// are not known here fails the test until a person has read them.
package licences
