package handover

import (
	"bytes"
	"io"
	"math/rand/v2"
	"os"
	"sort"
	"strings"
	"testing"

	"github.com/swardbook/swardbook/compliance/book"
	"github.com/swardbook/swardbook/compliance/series"
	"github.com/swardbook/swardbook/server/seal"
)

// unpacked returns every member of a pack.
func unpacked(t testing.TB, b []byte) map[string][]byte {
	t.Helper()
	r, err := seal.Open(bytes.NewReader(b), int64(len(b)))
	if err != nil {
		t.Fatal(err)
	}
	out := map[string][]byte{}
	for i := range r.Members {
		text, err := io.ReadAll(r.Content(&r.Members[i]))
		if err != nil {
			t.Fatal(err)
		}
		out[r.Members[i].Name] = text
	}
	return out
}

// sealed writes members as a pack, signed with the key, as they are.
func sealed(t testing.TB, members map[string][]byte, key *seal.Key) []byte {
	t.Helper()
	var b bytes.Buffer
	w, err := seal.NewWriter(&b, t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range names(members) {
		if _, err := w.Add(name, bytes.NewReader(members[name])); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := w.Close(key); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func names(members map[string][]byte) []string {
	var out []string
	for n := range members {
		out = append(out, n)
	}
	sort.Strings(out)
	return out
}

// relisted brings manifest and sums up to date, as a forger would.
func relisted(t testing.TB, members map[string][]byte, key *seal.Key) {
	t.Helper()
	m, err := readManifest(members[manifestName])
	if err != nil {
		t.Fatal(err)
	}
	delete(members, sumsName)
	delete(members, manifestName)
	said := map[string]member{}
	for _, one := range m.members {
		said[one.name] = one
	}
	m.members = nil
	for _, n := range names(members) {
		one := said[n]
		one.name, one.size, one.sum = n, int64(len(members[n])), hashOf(members[n])
		m.members = append(m.members, one)
	}
	m.fingerprint = key.Fingerprint()
	members[manifestName] = m.text()
	members[sumsName] = sums(append(m.members, member{name: manifestName, sum: hashOf(members[manifestName])}))
}

func bookLines(members map[string][]byte) []string {
	return strings.SplitAfter(strings.TrimSuffix(string(members[bookName]), "\n"), "\n")
}

func setLines(members map[string][]byte, l []string) {
	for i := range l {
		l[i] = strings.TrimSuffix(l[i], "\n") + "\n"
	}
	members[bookName] = []byte(strings.Join(l, ""))
}

func replaced(t *testing.T, members map[string][]byte, name, old, with string) {
	t.Helper()
	if !bytes.Contains(members[name], []byte(old)) {
		t.Fatalf("%s does not hold %q", name, old)
	}
	members[name] = bytes.Replace(members[name], []byte(old), []byte(with), 1)
}

// Every change is made by somebody who holds the right key and redoes every
// list and hash; only the chain, the digests and the judging stand against it.
func TestForgedWithTheRightKey(t *testing.T) {
	tests := []struct {
		name   string
		change func(t *testing.T, m map[string][]byte)
		says   string
		differ int
	}{
		{"nothing changed", func(*testing.T, map[string][]byte) {}, "", 0},
		{"an entry removed", func(t *testing.T, m map[string][]byte) {
			l := bookLines(m)
			setLines(m, append(l[:5], l[6:]...))
		}, "entry 7 stands where 6 belongs", 0},
		{"two entries swapped", func(t *testing.T, m map[string][]byte) {
			l := bookLines(m)
			l[5], l[6] = l[6], l[5]
			setLines(m, l)
		}, "chain broken", 0},
		{"a body changed", func(t *testing.T, m map[string][]byte) {
			replaced(t, m, bookName, "fence panels", "fence planks")
		}, "its body does not fit", 0},
		{"a body left out", func(t *testing.T, m map[string][]byte) {
			l := bookLines(m)
			o, err := book.ParseObject([]byte(strings.TrimSpace(l[4])))
			if err != nil {
				t.Fatal(err)
			}
			delete(o, "body")
			delete(o, "salt")
			l[4] = string(o.Bytes())
			setLines(m, l)
		}, "its body is missing", 0},
		{"an erasure claimed", func(t *testing.T, m map[string][]byte) {
			l := bookLines(m)
			o, err := book.ParseObject([]byte(strings.TrimSpace(l[4])))
			if err != nil {
				t.Fatal(err)
			}
			delete(o, "body")
			delete(o, "salt")
			o["erased_by"] = int64(12)
			l[4] = string(o.Bytes())
			setLines(m, l)
		}, "is no erasure of it", 0},
		{"a diary line withheld", func(t *testing.T, m map[string][]byte) {
			l := bookLines(m)
			o, err := book.ParseObject([]byte(strings.TrimSpace(l[4])))
			if err != nil {
				t.Fatal(err)
			}
			delete(o, "body")
			delete(o, "salt")
			o["withheld"] = true
			l[4] = string(o.Bytes())
			setLines(m, l)
		}, "only bodies that name persons", 0},
		{"an original added", func(t *testing.T, m map[string][]byte) {
			m[filesDir+hashOf([]byte("more")).String()] = []byte("more")
		}, "is named by no entry", 0},
		{"another file added", func(t *testing.T, m map[string][]byte) {
			m["letter.txt"] = []byte("all is well")
		}, "letter.txt does not follow from the record", 0},
		{"a register added", func(t *testing.T, m map[string][]byte) {
			m[registersDir+"samples.csv"] = []byte("seq\r\n")
		}, "samples.csv does not follow from the record", 0},
		{"an original removed", func(t *testing.T, m map[string][]byte) {
			for _, n := range names(m) {
				if strings.HasPrefix(n, filesDir) {
					delete(m, n)
					return
				}
			}
		}, "is missing", 0},
		{"an original changed", func(t *testing.T, m map[string][]byte) {
			for _, n := range names(m) {
				if strings.HasPrefix(n, filesDir) {
					m[n] = append(m[n], ' ')
					return
				}
			}
		}, "is not what its name says", 0},
		{"a register changed", func(t *testing.T, m map[string][]byte) {
			replaced(t, m, registersDir+"diary.csv", "fence panels", "fence planks")
		}, "diary.csv does not say what follows from the record", 0},
		{"a judgement changed", func(t *testing.T, m map[string][]byte) {
			replaced(t, m, judgementsName, `"verdict":"not complied"`, `"verdict":"complied"`)
		}, "judgements.json does not say what follows", 1},
		{"a judgement left out", func(t *testing.T, m map[string][]byte) {
			l := strings.SplitAfter(string(m[judgementsName]), "\n")
			m[judgementsName] = []byte(strings.Join(append(l[:1:1], l[2:]...), ""))
		}, "judgements.json does not say what follows", 1},
		{"the table of judgements changed", func(t *testing.T, m map[string][]byte) {
			replaced(t, m, tableName, "not complied", "complied")
		}, "judgements.csv does not say what follows", 0},
		{"a condition changed", func(t *testing.T, m map[string][]byte) {
			replaced(t, m, conditionsName, "<= 55 dB", "<= 65 dB")
		}, "conditions.json does not say", 0},
		{"the page changed", func(t *testing.T, m map[string][]byte) {
			replaced(t, m, pageName, "not complied", "complied")
		}, "index.html does not say", 0},
		{"the cover sheet changed", func(t *testing.T, m map[string][]byte) {
			m[coverName] = append(m[coverName], '\n')
		}, "cover.pdf does not say", 0},
		{"the format's description changed", func(t *testing.T, m map[string][]byte) {
			replaced(t, m, formatName, "signature", "signiture")
		}, "FORMAT.md does not say", 0},
		{"the genesis changed", func(t *testing.T, m map[string][]byte) {
			replaced(t, m, genesisName, "long-pasture", "long-meadow")
		}, "chain broken", 0},
		{"a reading changed", changeReading, "are not those entry 10 commits to", 0},
		{"readings removed", func(t *testing.T, m map[string][]byte) {
			delete(m, channelKey{10, "N2"}.member())
		}, "does not fit what record/chunks/index.csv says", 0},
		{"readings added", func(t *testing.T, m map[string][]byte) {
			m[chunksDir+"00000010/N3.chunks"] = []byte{1, 3, 0, 0, 0}
		}, "stands in no list of readings", 0},
		{"the zone changed", func(t *testing.T, m map[string][]byte) {
			m[zoneDir+"Europe/London"] = []byte("TZif")
		}, "is not the time zone", 0},
		{"a later instant claimed", func(t *testing.T, m map[string][]byte) {
			replaced(t, m, manifestName, "2026-04-20T", "2026-04-21T")
		}, "does not say what follows from the record", 3},
		{"another last entry claimed", func(t *testing.T, m map[string][]byte) {
			replaced(t, m, manifestName, `"upto":12`, `"upto":13`)
		}, "does not name the site and the last entry", 0},
		{"a member described otherwise", func(t *testing.T, m map[string][]byte) {
			replaced(t, m, manifestName, "every condition with every default", "some conditions with some default")
		}, "does not describe conditions.json", 0},
	}
	key := testKey()
	good := pack(t, build(t).input(key))
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			m := unpacked(t, good)
			tt.change(t, m)
			relisted(t, m, key)
			out := verify(t, sealed(t, m, key), key.Fingerprint())
			all := strings.Join(out.Lines(), "\n")
			if tt.says == "" {
				if !out.Good() {
					t.Fatalf("repacking alone is taken for a forgery:\n%s", all)
				}
				return
			}
			if out.Good() || !strings.Contains(all, tt.says) || out.Differ != tt.differ {
				t.Fatalf("good %v, %d differ, wanted %d and %q in:\n%s", out.Good(), out.Differ, tt.differ, tt.says, all)
			}
		})
	}
}

// changeReading lowers one reading and redoes index and hashes.
func changeReading(t *testing.T, m map[string][]byte) {
	t.Helper()
	runs, err := readRuns(bytes.NewReader(m[chunksName]))
	if err != nil {
		t.Fatal(err)
	}
	k := channelKey{10, "N2"}
	var all []byte
	for i := range runs {
		if runs[i].channel != k.channel {
			continue
		}
		b, err := series.Decode(m[k.member()][runs[i].offset : runs[i].offset+runs[i].bytes])
		if err != nil {
			t.Fatal(err)
		}
		if runs[i].number == 0 {
			b.Coefficient[3]--
		}
		data := series.Encode(b)
		if runs[i], _, err = newRun(k, runs[i].number, int64(len(all)), data); err != nil {
			t.Fatal(err)
		}
		all = append(all, data...)
	}
	m[k.member()] = all
	var b bytes.Buffer
	if err := writeRuns(&b, runs); err != nil {
		t.Fatal(err)
	}
	m[chunksName] = b.Bytes()
}

func TestLazyTampering(t *testing.T) {
	key := testKey()
	good := pack(t, build(t).input(key))
	tests := []struct {
		name string
		make func(t *testing.T) []byte
		says string
	}{
		{"a file added, lists as they were", func(t *testing.T) []byte {
			m := unpacked(t, good)
			m["added.txt"] = []byte("x")
			return sealed(t, m, key)
		}, "added.txt stands in no list"},
		{"a member changed, lists as they were", func(t *testing.T) []byte {
			m := unpacked(t, good)
			replaced(t, m, registersDir+"diary.csv", "fence", "hedge")
			return sealed(t, m, key)
		}, "is not what its hash says"},
		{"a member removed, lists as they were", func(t *testing.T) []byte {
			m := unpacked(t, good)
			delete(m, coverName)
			return sealed(t, m, key)
		}, "cover.pdf is missing: it was removed"},
		{"sums changed", func(t *testing.T) []byte {
			m := unpacked(t, good)
			m[sumsName] = m[sumsName][66:]
			return sealed(t, m, key)
		}, "SHA256SUMS is not the list"},
		{"another key in the manifest", func(t *testing.T) []byte {
			return sealed(t, unpacked(t, good), seal.NewKey([32]byte{8}))
		}, "names another signing key"},
		{"a byte after the end", func(*testing.T) []byte { return append(append([]byte{}, good...), 0) }, "not a sealed pack"},
		{"cut short", func(*testing.T) []byte { return good[:len(good)-1] }, "not a sealed pack"},
		{"no pack at all", func(*testing.T) []byte { return []byte("PK") }, "not a sealed pack"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			out := verify(t, tt.make(t), "")
			if all := strings.Join(out.Lines(), "\n"); out.Good() || !strings.Contains(all, tt.says) || !strings.HasPrefix(all, "signer not checked") {
				t.Fatalf("good %v, wanted %q in:\n%s", out.Good(), tt.says, all)
			}
		})
	}
}

// A whole other book, made and signed with another key, is sound in itself:
// only the fingerprint given by another way tells it from the true one.
func TestEverythingRedoneWithAnotherKey(t *testing.T) {
	k := build(t)
	other := seal.NewKey([32]byte{99})
	k.entries = k.entries[:10]
	b := pack(t, k.input(other))
	out := verify(t, b, "")
	if !out.Good() || !strings.HasPrefix(out.Lines()[0], "signer not checked") || !strings.Contains(out.Lines()[0], other.Fingerprint()) {
		t.Fatalf("without a key:\n%s", strings.Join(out.Lines(), "\n"))
	}
	out = verify(t, b, testKey().Fingerprint())
	if out.Good() || !strings.Contains(strings.Join(out.Faults, "\n"), "another key than the one expected") {
		t.Fatalf("with the key expected:\n%s", strings.Join(out.Lines(), "\n"))
	}
	if _, err := Verify(t.Context(), bytes.NewReader(b), int64(len(b)), Check{Fingerprint: "4e40"}); err == nil {
		t.Fatal("half a fingerprint was taken")
	}
}

// TestSeededFlips flips single bits all over a pack: that of the tests, or the
// one that PACK_FLIPS names.
func TestSeededFlips(t *testing.T) {
	k := build(t)
	b := pack(t, k.input(testKey()))
	if path := os.Getenv("PACK_FLIPS"); path != "" {
		var err error
		if b, err = os.ReadFile(path); err != nil {
			t.Fatal(err)
		}
	}
	r := rand.New(rand.NewPCG(20260420, 1))
	parts := map[string]int{}
	for n := range 1000 {
		i, bit := r.IntN(len(b)), r.IntN(8)
		b[i] ^= 1 << bit
		out, err := Verify(t.Context(), bytes.NewReader(b), int64(len(b)), Check{Kinds: k.kinds, Quantities: k.list, Program: "test"})
		if err != nil {
			t.Fatal(err)
		}
		if out.Good() || len(out.Faults) == 0 {
			t.Fatalf("flip %d, bit %d of byte %d: nothing noticed", n, bit, i)
		}
		word, _, _ := strings.Cut(out.Faults[0], ":")
		parts[word]++
		b[i] ^= 1 << bit
	}
	t.Logf("1000 flips of single bits in %d bytes, all noticed: %v", len(b), parts)
	if out := verify(t, b, ""); !out.Good() {
		t.Fatal("the pack was not put back as it was")
	}
}

func TestNothingIsTrustedBeforeTheSignature(t *testing.T) {
	b := pack(t, build(t).input(testKey()))
	bad := append([]byte{}, b...)
	bad[len(bad)-1] ^= 1
	out := verify(t, bad, testKey().Fingerprint())
	if len(out.Judgements) > 0 || out.Site != "" || len(out.Faults) != 1 {
		t.Fatalf("a pack with a bad signature was read on:\n%s", strings.Join(out.Lines(), "\n"))
	}
}
