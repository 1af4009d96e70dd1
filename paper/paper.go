// Package paper says what the documents of a job hold: what an electrician takes
// to the site, hands to an inspector or keeps. Beside each paper stand its data
// as JSON and, where it is a list, as CSV; nothing here calculates, and no
// verdict is worded here: both come from findings and expectations. A
// certificate is issued once nothing required is missing: then it is numbered,
// carries the whole job and is signed.
//
// Its parts: the pack, the certificates with their gaps and their issue, the
// sheets for site and owner, the statement of charging.
package paper
