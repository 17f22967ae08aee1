// Package media tells what a file is, by its content, and of a photo on which day
// it was taken and how it is to be turned, by the Exif block that JPEG, PNG, WebP
// and HEIC each wrap in their own way. Files come from anywhere: no length, offset
// or count that they state is trusted, and what does not fit is a photo without a
// date. It reads bytes and gives a Type, a Day or a turn; it opens no file and
// knows nothing about jobs. It is held to photos by other writers
// (testdata/photos).
package media
