package documents

import (
	"archive/tar"
	"bytes"
	"compress/gzip"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/chromedp"
)

// The pages are looked at in a browser, with an accessibility checker. Where
// there is no browser, or npm can't fetch the checker, these tests are skipped;
// with CI_BROWSER=1 they fail instead.

// The checker, held to its hash.
const (
	axePackage = "axe-core@4.14.1" // MPL-2.0; for tests only, no part of the program
	axeSHA256  = "29348999450cdf2849a8e70b7912fc2da85a849da39c0d0d5394f51d4a9ed95c"
)

// without skips a test for want of a tool, or fails it where the tools must be.
func without(t *testing.T, what string, err error) {
	t.Helper()
	if os.Getenv("CI_BROWSER") == "1" {
		t.Fatalf("%s: %v", what, err)
	}
	t.Skipf("%s: %v", what, err)
}

// chromium finds the browser.
func chromium(t *testing.T) string {
	t.Helper()
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome"} {
		if path, err := exec.LookPath(name); err == nil {
			return path
		}
	}
	without(t, "no browser", errors.New("install chromium"))
	return ""
}

// axe gives the checker's script, fetched once and kept with other tools.
func axe(t *testing.T) string {
	t.Helper()
	kept := filepath.Join(os.TempDir(), "putlog-tools", axePackage+".min.js")
	script, err := os.ReadFile(kept)
	if err == nil && isAxe(script) {
		return string(script)
	}
	script, err = fetchAxe(t.TempDir())
	switch {
	case err != nil:
		without(t, "can't fetch "+axePackage, err)
	case !isAxe(script):
		t.Fatalf("%s is not what it was when this test was written", axePackage)
	}
	if err := os.MkdirAll(filepath.Dir(kept), 0o755); err == nil {
		_ = os.WriteFile(kept, script, 0o644) // the next run is quicker
	}
	return string(script)
}

func isAxe(script []byte) bool {
	sum := sha256.Sum256(script)
	return hex.EncodeToString(sum[:]) == axeSHA256
}

// fetchAxe has npm fetch the package, and takes the script out of it.
func fetchAxe(folder string) ([]byte, error) {
	ctx, cancel := context.WithTimeout(context.Background(), 2*time.Minute)
	defer cancel()
	npm := exec.CommandContext(ctx, "npm", "pack", "--silent", axePackage)
	npm.Dir = folder
	name, err := npm.Output()
	if err != nil {
		return nil, err
	}
	packed, err := os.ReadFile(filepath.Join(folder, strings.TrimSpace(string(name))))
	if err != nil {
		return nil, err
	}
	plain, err := gzip.NewReader(bytes.NewReader(packed))
	if err != nil {
		return nil, err
	}
	for files := tar.NewReader(plain); ; {
		file, err := files.Next()
		if err != nil {
			return nil, err
		}
		if file.Name == "package/axe.min.js" {
			return io.ReadAll(files)
		}
	}
}

// browser is a browser with one page in it.
type browser struct {
	ctx    context.Context
	folder string
	mu     sync.Mutex
	asked  []string // addresses that the page asked for
}

func newBrowser(t *testing.T) *browser {
	t.Helper()
	options := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(chromium(t)),
		chromedp.NoSandbox, chromedp.UserDataDir(t.TempDir()),
		chromedp.Flag("disable-background-networking", true), chromedp.Flag("disable-component-update", true),
		chromedp.Flag("disable-sync", true))
	ctx, cancel := chromedp.NewExecAllocator(context.Background(), options...)
	t.Cleanup(cancel)
	b := &browser{folder: t.TempDir()}
	ctx, cancel = chromedp.NewContext(ctx, chromedp.WithListener(func(ev any) {
		if sent, ok := ev.(*network.EventRequestWillBeSent); ok {
			b.mu.Lock()
			b.asked = append(b.asked, sent.Request.URL)
			b.mu.Unlock()
		}
	}))
	t.Cleanup(cancel)
	b.ctx = ctx
	err := chromedp.Do(ctx, chromedp.Navigate("about:blank"),
		command(network.Enable, network.EnableParams{}))
	if err != nil {
		without(t, "the browser does not start", err)
	}
	return b
}

// command is a protocol command as an action.
func command[P, R any](c cdp.Command[P, R], params P) chromedp.Action[chromedp.Void] {
	return func(ctx context.Context, t *chromedp.Target) (chromedp.Void, error) {
		_, err := cdp.Call(ctx, t, c, params)
		return chromedp.Void{}, err
	}
}

// look is how a page is looked at.
type look struct {
	name         string
	width        int64
	media, shade string
}

// The looks: a phone by day and by night, a screen, and the width between the
// margins of A4 at 96 dots an inch (182 mm).
var looks = []look{
	{"phone", 360, "", "light"}, {"phone at night", 360, "", "dark"},
	{"screen", 1280, "", "light"}, {"screen at night", 1280, "", "dark"},
	{"paper", 688, "print", "light"},
}

// open shows a page; one that does not come within a minute is a fault.
func (b *browser) open(t *testing.T, page string, l look) {
	t.Helper()
	file := filepath.Join(b.folder, "page.html")
	if err := os.WriteFile(file, []byte(page), 0o600); err != nil {
		t.Fatal(err)
	}
	b.mu.Lock()
	b.asked = nil
	b.mu.Unlock()
	ctx, cancel := context.WithTimeout(b.ctx, time.Minute)
	defer cancel()
	media := emulation.SetEmulatedMediaParams{Media: l.media,
		Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: l.shade}}}
	if err := chromedp.Do(ctx, chromedp.EmulateViewport(l.width, 800),
		command(emulation.SetEmulatedMedia, media), chromedp.Navigate("file://"+file)); err != nil {
		t.Fatal(err)
	}
}

// eval runs a script on the page.
func eval[T any](t *testing.T, b *browser, script string) T {
	t.Helper()
	ctx, cancel := context.WithTimeout(b.ctx, 2*time.Minute)
	defer cancel()
	value, err := chromedp.Run(ctx, chromedp.Evaluate[T](script, chromedp.EvalAwaitPromise))
	if err != nil {
		t.Fatal(err)
	}
	return value
}

// checked is what the checker found.
type checked struct {
	Faults []string
	Passed []string // the rules that were looked at and hold
}

// check runs the checker on the page: the rules named or, for none, all it has
// but the experimental.
func (b *browser) check(t *testing.T, axe string, rules ...string) checked {
	t.Helper()
	only := ""
	if len(rules) > 0 {
		only = `runOnly: ["` + strings.Join(rules, `", "`) + `"], `
	}
	_ = eval[bool](t, b, axe+"; true")
	return eval[checked](t, b, `axe.run(document, {`+only+`resultTypes: ["violations", "passes"]}).
		then(r => ({Faults: r.violations.map(v =>
			v.id + ": " + v.help + ": " + v.nodes[0].html + " " + v.nodes[0].failureSummary),
		Passed: r.passes.map(p => p.id)}))`)
}

// browserPages are the pages that are looked at.
func browserPages(t *testing.T) map[string]string {
	shown := withPhotos(t, pageStatement(t), "Step finished")
	all := map[string]string{"the shed": page(t, shown), "its plan": planPage(t),
		"hostile": page(t, hostileStatement(t, strings.Join(hostileTexts, " ")[:480]))}
	for name, s := range pageSamples(t) {
		all[name] = page(t, s)
	}
	return all
}

// checkedLooks are those at which the checker is run; it takes its time, and
// what it looks at is much the same in all pages.
var checkedLooks = map[string][]string{
	"the shed": {"phone", "phone at night", "paper"}, "its plan": {"screen at night"},
	"nothing accepted": {"phone"}, "hostile": {"screen"},
}

func TestInABrowser(t *testing.T) {
	script := axe(t)
	b := newBrowser(t)
	t.Run("pages", func(t *testing.T) { b.pages(t, script) })
	t.Run("faults are seen", func(t *testing.T) { b.seesFaults(t, script) })
	t.Run("print", b.prints)
}

func (b *browser) pages(t *testing.T, script string) {
	for name, page := range browserPages(t) {
		for _, l := range looks {
			checked := slices.Contains(checkedLooks[name], l.name)
			if l.shade == "dark" && !checked {
				continue // nothing but colours differ
			}
			b.open(t, page, l)
			b.fits(t, name, l)
			b.asksForNothing(t, name, l)
			if !checked {
				continue
			}
			found := b.check(t, script)
			for _, fault := range found.Faults {
				t.Errorf("%s, %s: %s", name, l.name, fault)
			}
			for _, rule := range []string{"color-contrast", "landmark-one-main", "heading-order",
				"svg-img-alt", "region"} {
				if !slices.Contains(found.Passed, rule) {
					t.Errorf("%s, %s: nothing was looked at by the rule %s", name, l.name, rule)
				}
			}
		}
	}
}

// asksForNothing sees that the browser fetched the page and nothing else.
func (b *browser) asksForNothing(t *testing.T, name string, l look) {
	t.Helper()
	b.mu.Lock()
	defer b.mu.Unlock()
	asked := slices.DeleteFunc(b.asked,
		func(url string) bool { return strings.HasPrefix(url, "data:") })
	if len(asked) != 1 || !strings.HasSuffix(asked[0], "/page.html") {
		t.Errorf("%s, %s: the page asks for %q", name, l.name, asked)
	}
}

// fits sees that nothing stands outside the page or its picture, that the
// picture's words can be read, and that nothing runs that was typed.
func (b *browser) fits(t *testing.T, name string, l look) {
	t.Helper()
	if wide := eval[int64](t, b, `document.documentElement.scrollWidth`); wide > l.width {
		t.Errorf("%s, %s: %d wide, want %d", name, l.name, wide, l.width)
	}
	out := eval[[]string](t, b, `[...document.querySelectorAll("figure text")].filter(e =>
		e.getBoundingClientRect().right > e.ownerSVGElement.getBoundingClientRect().right + 1).
		map(e => e.textContent)`)
	if len(out) > 0 {
		t.Errorf("%s, %s: %d lines run out of the picture: %q", name, l.name, len(out), out[0])
	}
	if small := eval[int](t, b, `[...document.querySelectorAll("figure text")].filter(e =>
		parseFloat(getComputedStyle(e).fontSize) * e.getScreenCTM().a < 9.5).length`); small > 0 {
		t.Errorf("%s, %s: %d lines of the picture are too small to read", name, l.name, small)
	}
	if n := eval[int](t, b, `[...document.images].filter(i => i.naturalWidth == 0).length`); n > 0 {
		t.Errorf("%s, %s: %d photos are not shown", name, l.name, n)
	}
	n := eval[int](t, b, `document.querySelectorAll("script, iframe, object, link, form, a").length +
		[...document.querySelectorAll("*")].filter(e =>
			[...e.attributes].some(a => a.name.startsWith("on"))).length`)
	if n > 0 {
		t.Errorf("%s, %s: %d things that the page should not hold", name, l.name, n)
	}
}

// seesFaults makes the same checks on pages with faults.
func (b *browser) seesFaults(t *testing.T, script string) {
	whole := page(t, pageStatement(t))
	for _, test := range []struct{ was, bad, rule string }{
		{"--soft: #565b61", "--soft: #c5c5c5", "color-contrast"},
		{"<main>", "<div>", "landmark-one-main"},
		{`lang="en-GB"`, "", "html-has-lang"},
		{`<title id="weeks-1-title">`, `<g>`, "svg-img-alt"},
		{"<h2", "<h4", "heading-order"},
	} {
		b.open(t, strings.ReplaceAll(whole, test.was, test.bad), looks[0])
		if len(b.check(t, script, test.rule).Faults) == 0 {
			t.Errorf("%s in place of %s was not seen", test.bad, test.was)
		}
	}
	open := strings.Replace(whole, "style-src 'unsafe-inline'", "style-src *", 1)
	ask := `<main><link rel="stylesheet" href="missing.css">`
	b.open(t, strings.Replace(open, "<main>", ask, 1), looks[0])
	b.mu.Lock()
	defer b.mu.Unlock()
	missing := func(url string) bool { return strings.HasSuffix(url, "missing.css") }
	if !slices.ContainsFunc(b.asked, missing) {
		t.Errorf("a page that asks for more was not seen: %q", b.asked)
	}
}

// prints puts the page on A4: it is no blank, and takes no more sheets than it
// must.
func (b *browser) prints(t *testing.T) {
	b.open(t, page(t, pageStatement(t)), look{"paper", 688, "", "light"})
	ctx, cancel := context.WithTimeout(b.ctx, time.Minute)
	defer cancel()
	pdf, err := chromedp.Run(ctx, chromedp.PrintToPDF(chromedp.PDFPreferCSSPageSize()))
	if err != nil {
		t.Fatal(err)
	}
	if sheets := bytes.Count(pdf, []byte("/Type /Page\n")); sheets < 3 || sheets > 7 {
		t.Errorf("%d sheets, want 3 to 7", sheets)
	}
}
