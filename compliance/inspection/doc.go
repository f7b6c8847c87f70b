// Package inspection holds the site diary and the inspections with their
// checklists, and the quantities that conditions read from them: acts, and
// inspections done.
package inspection
