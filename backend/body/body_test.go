package body_test

import (
	"bytes"
	"compress/gzip"
	"net/http/httptest"
	"strings"
	"testing"

	"underlog/backend/body"
)

const mostBytes = 1 << 20

// Whatever body comes under whatever encoding, it is read within the bound or
// refused with a sentence.
func FuzzRead(f *testing.F) {
	pack := func(text string) []byte {
		var packed bytes.Buffer
		writer := gzip.NewWriter(&packed)
		_, _ = writer.Write([]byte(text))
		_ = writer.Close()
		return packed.Bytes()
	}
	whole := pack(`{"protocol":1,"device":"0123456789abcdef0123456789abcdef"}`)
	f.Add(whole, "gzip")
	f.Add(whole[:len(whole)-5], "gzip")
	f.Add(append(bytes.Clone(whole), whole...), " GZip ")
	f.Add(pack(strings.Repeat(" ", mostBytes+1)), "gzip")
	f.Add([]byte(`{"protocol":1}`), "")
	f.Add([]byte(`{}`), "br")
	f.Fuzz(func(t *testing.T, sent []byte, encoding string) {
		request := httptest.NewRequest("POST", "/", bytes.NewReader(sent))
		request.Header.Set("Content-Encoding", encoding)
		unpacked, refusal := body.Read(request, mostBytes)
		switch {
		case refusal != nil:
			if unpacked != nil || refusal.Status < 400 || refusal.Status > 499 || !strings.HasSuffix(refusal.Sentence, ".") {
				t.Errorf("refused with %+v and %d bytes", refusal, len(unpacked))
			}
		case len(unpacked) > mostBytes:
			t.Errorf("%d bytes are taken", len(unpacked))
		}
	})
}
