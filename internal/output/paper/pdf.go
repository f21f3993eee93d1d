package paper

import (
	"bytes"
	"fmt"
	"time"

	"fettle/internal/output/draw"

	"codeberg.org/go-pdf/fpdf"
)

// pointMM is a typographic point in mm.
const pointMM = 25.4 / 72

// PDF writes pages, all of one size in mm, as a PDF with its face and its pictures
// embedded. The bytes depend on nothing but the arguments: dates are fixed and lists
// sorted. The error is Invalid for a picture that cannot be read.
func PDF(pages []*draw.Drawing, width, height float64, title string) ([]byte, error) {
	return PDFIn(pages, width, height, title, "en-GB")
}

// PDFIn is [PDF] with the language that it is written in, a BCP 47 tag.
func PDFIn(pages []*draw.Drawing, width, height float64, title, language string) ([]byte, error) {
	pdf := fpdf.NewCustom(&fpdf.InitType{OrientationStr: "P", UnitStr: "mm", Size: fpdf.SizeType{Wd: width, Ht: height}})
	pdf.SetCatalogSort(true)
	day := time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)
	pdf.SetCreationDate(day)
	pdf.SetModificationDate(day)
	pdf.SetProducer("Fettle", true)
	pdf.SetTitle(Clean(title), true)
	pdf.SetLang(language)
	pdf.SetMargins(0, 0, 0)
	pdf.SetAutoPageBreak(false, 0)
	f := faces()
	// The library may write into what it is given.
	pdf.AddUTF8FontFromBytes("face", "", bytes.Clone(f[0].ttf))
	pdf.AddUTF8FontFromBytes("face", "B", bytes.Clone(f[1].ttf))
	pictures := &album{pdf: pdf}
	for _, p := range pages {
		pdf.AddPage()
		pdf.SetLineCapStyle("round")
		pdf.SetLineJoinStyle("round")
		for _, i := range p.Images {
			if err := pictures.paint(i); err != nil {
				return nil, err
			}
		}
		paint(pdf, p)
	}
	var out bytes.Buffer
	if err := pdf.Output(&out); err != nil {
		return nil, fmt.Errorf("writing the PDF: %w", err)
	}
	return out.Bytes(), nil
}

// paint puts what is drawn and written on the current page.
func paint(pdf *fpdf.Fpdf, d *draw.Drawing) {
	grey := func(shade float64) int { return int(255*min(1, max(0, shade)) + 0.5) }
	for _, f := range d.Fills {
		g := grey(f.Shade)
		pdf.SetFillColor(g, g, g)
		trace(pdf, f.Pts)
		pdf.ClosePath()
		pdf.DrawPath("F")
	}
	for _, l := range d.Lines {
		if len(l.Pts) < 2 {
			continue
		}
		g := grey(l.Shade)
		pdf.SetDrawColor(g, g, g)
		pdf.SetLineWidth(l.Weight)
		pdf.SetDashPattern(l.Dash, 0)
		trace(pdf, l.Pts)
		if l.Closed {
			pdf.ClosePath()
		}
		pdf.DrawPath("D")
	}
	for _, t := range d.Texts {
		s := Clean(t.S)
		style := ""
		if t.Bold {
			style = "B"
		}
		pdf.SetFont("face", style, t.Size/pointMM)
		g := grey(t.Shade)
		pdf.SetTextColor(g, g, g)
		dx := 0.0
		switch w := Metric(s, t.Size, t.Bold); t.Align {
		case draw.Centre:
			dx = -w / 2
		case draw.Right:
			dx = -w
		}
		if t.Angle != 0 {
			pdf.TransformBegin()
			pdf.TransformRotate(t.Angle, t.At.X, t.At.Y)
		}
		pdf.Text(t.At.X+dx, t.At.Y, s)
		if t.Angle != 0 {
			pdf.TransformEnd()
		}
	}
}

func trace(pdf *fpdf.Fpdf, pts []draw.Pt) {
	for i, p := range pts {
		if i == 0 {
			pdf.MoveTo(p.X, p.Y)
		} else {
			pdf.LineTo(p.X, p.Y)
		}
	}
}
