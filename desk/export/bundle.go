package export

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"sort"
	"strings"

	"fieldfare/plan/dossier"
)

// Attachment is a paper that a permission names, from the shoot folder.
type Attachment struct {
	Name string // below permissions/
	Data []byte
}

// Bundle packs for an authority: the book and kit list as given, KML of paths and volumes, the
// safety case and its permission register as JSON, permissions' own papers, and the hashes of all.
// Equal content gives an equal archive.
func Bundle(ctx context.Context, c *Content, book, risks, kit []byte, papers []Attachment) ([]byte, error) {
	volumes, err := c.kmlOf(false)
	if err != nil {
		return nil, err
	}
	d, err := dossier.Write(ctx, c.Assessor, c.Check)
	if err != nil {
		return nil, err
	}
	whole, err := encode(d)
	if err != nil {
		return nil, err
	}
	register, err := encode(struct {
		Caution     string               `json:"caution"`
		Permissions []dossier.Permission `json:"permissions"`
	}{safety, d.Register})
	if err != nil {
		return nil, err
	}
	files := []file{{"book.pdf", book}, {"risk-assessment.pdf", risks}, {"volumes.kml", volumes}, {"safety-case.json", whole}, {"permissions.json", register}, {"kit-list.pdf", kit}}
	seen := map[string]bool{}
	for _, p := range papers {
		if !seen[p.Name] {
			seen[p.Name] = true
			files = append(files, file{"permissions/" + p.Name, p.Data})
		}
	}
	sort.SliceStable(files, func(i, j int) bool { return files[i].name < files[j].name })
	var sums strings.Builder
	for _, f := range files {
		sum := sha256.Sum256(f.data)
		fmt.Fprintf(&sums, "%s  %s\n", hex.EncodeToString(sum[:]), f.name) // as sha256sum reads it
	}
	source := sha256.Sum256(c.Source)
	about := fmt.Sprintf("%s\n%s, %s (%s)\n\nshoot file SHA-256 %s\nwritten by %s\n\nbook.pdf             the flight book\nrisk-assessment.pdf  risk assessment, method statement, emergencies, checklists\nvolumes.kml          paths, flight geography, contingency volumes, ground risk buffers\nsafety-case.json     the whole safety case\npermissions.json     the permission register\npermissions/         papers that permissions name\nkit-list.pdf         aircraft and gear\nSHA256SUMS           hashes: sha256sum -c SHA256SUMS\n\n%s\n",
		c.Assessor.Shoot.Title, c.Assessor.Shoot.Site.Name, strings.Join(c.Check.Dates, ", "), c.Check.Zone, hex.EncodeToString(source[:]), c.creator(), safety)
	files = append([]file{{"README.txt", []byte(about)}, {"SHA256SUMS", []byte(sums.String())}}, files...)
	return archive(c.dated(), files)
}
