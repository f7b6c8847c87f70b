package demo

import "time"

// SiteID is the id of the invented site, by which its folder is known again.
const SiteID = "cold-lowe"

// JudgeAt is the instant the site's story is told at, as its folder says.
func JudgeAt() time.Time { return time.Date(2026, time.July, 31, 19, 0, 0, 0, time.UTC) }
