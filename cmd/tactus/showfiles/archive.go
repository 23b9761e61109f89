package showfiles

import (
	"archive/zip"
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"slices"
	"strings"

	"tactus/shows"
	"tactus/shows/language"
)

// Bounds of an archive. The demo has 16 files of 60 kB in all; a night of eighty
// long songs takes less than a tenth of these.
const (
	MaxArchiveBytes  = 16 << 20 // as it is stored or sent
	maxUnpackedBytes = 64 << 20 // all files together
	maxArchiveFiles  = 4096
)

// ErrArchive is wrapped by every error of OpenArchive.
var ErrArchive = errors.New("not a usable copy of a show")

// archiveMark begins the comment of an archive; the files' checksum follows.
const archiveMark = "tactus show "

// Archive packs the files that a show is made of into a ZIP file (PKWARE APPNOTE 6.3):
// those that shows.Load reads with the same options, and nothing else of the folder.
// Equal files make equal bytes. It returns an error if a file cannot be read, or if the
// result would be larger than MaxArchiveBytes or hold more than 64 MiB or 4096 files.
func Archive(files fs.FS, o shows.Options) ([]byte, error) {
	sources, problems := shows.SourceFiles(files, o)
	if len(problems) > 0 {
		return nil, errors.New(problems[0].String())
	}
	names, total := slices.Sorted(maps.Keys(sources)), 0
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for _, name := range names {
		total += len(sources[name])
		w, err := z.CreateHeader(&zip.FileHeader{Name: name, Method: zip.Deflate}) // no times: equal files, equal bytes
		if err == nil {
			_, err = w.Write(sources[name])
		}
		if err != nil {
			return nil, err // a buffer does not fail
		}
	}
	if err := errors.Join(z.SetComment(archiveMark+contentOfSources(sources)), z.Close()); err != nil {
		return nil, err
	}
	if b.Len() > MaxArchiveBytes || total > maxUnpackedBytes || len(names) > maxArchiveFiles {
		return nil, fmt.Errorf("the show is too large to be kept as a copy: %d files, %d bytes, %d packed; at most %d, %d and %d",
			len(names), total, b.Len(), maxArchiveFiles, maxUnpackedBytes, MaxArchiveBytes)
	}
	return b.Bytes(), nil
}

// OpenArchive returns the files in an archive, which may come from anywhere. It keeps
// archive, which must not change. Everything is checked first: sizes, the checksum, and
// that all are plain files with names that files of a show have. Errors wrap ErrArchive.
func OpenArchive(archive []byte) (fs.FS, error) {
	if len(archive) > MaxArchiveBytes {
		return nil, fmt.Errorf("%w: %d bytes, at most %d", ErrArchive, len(archive), MaxArchiveBytes)
	}
	z, err := zip.NewReader(bytes.NewReader(archive), int64(len(archive)))
	switch {
	case err != nil:
		return nil, fmt.Errorf("%w: %w", ErrArchive, err)
	case len(z.File) > maxArchiveFiles:
		return nil, fmt.Errorf("%w: %d files, at most %d", ErrArchive, len(z.File), maxArchiveFiles)
	}
	sources, left := map[string][]byte{}, maxUnpackedBytes
	for _, f := range z.File {
		if err := allowed(f, sources); err != nil {
			return nil, err
		}
		src, err := unpack(f, min(left, language.MaxFileBytes))
		if err != nil {
			return nil, err
		}
		left -= len(src)
		sources[f.Name] = src
	}
	sum, marked := strings.CutPrefix(z.Comment, archiveMark)
	if is := contentOfSources(sources); !marked || sum != is {
		return nil, fmt.Errorf("%w: the files' checksum is %s, the archive says %.80q", ErrArchive, is, z.Comment)
	}
	return z, nil
}

// allowed refuses what is no plain file of a show, and a name that was there before.
func allowed(f *zip.File, before map[string][]byte) error {
	if _, known := language.KindOf(f.Name); !known || !fs.ValidPath(f.Name) {
		return fmt.Errorf("%w: it holds %.80q, which is not a file of a show; %s", ErrArchive, f.Name, language.FolderHas)
	}
	if !f.Mode().IsRegular() {
		return fmt.Errorf("%w: %q is %s, not a plain file", ErrArchive, f.Name, f.Mode())
	}
	if _, twice := before[f.Name]; twice {
		return fmt.Errorf("%w: %q is in it twice", ErrArchive, f.Name)
	}
	return nil
}

// unpack reads a file of at most a number of bytes, whatever size its header says.
func unpack(f *zip.File, most int) ([]byte, error) {
	if f.UncompressedSize64 > uint64(most) {
		return nil, fmt.Errorf("%w: %q has %d bytes, at most %d", ErrArchive, f.Name, f.UncompressedSize64, most)
	}
	r, err := f.Open()
	if err != nil {
		return nil, fmt.Errorf("%w: %q: %w", ErrArchive, f.Name, err)
	}
	defer r.Close()
	src, err := io.ReadAll(io.LimitReader(r, int64(most)+1))
	switch {
	case err != nil:
		return nil, fmt.Errorf("%w: %q: %w", ErrArchive, f.Name, err)
	case len(src) > most:
		return nil, fmt.Errorf("%w: %q has more than %d bytes", ErrArchive, f.Name, most)
	}
	return src, nil
}
