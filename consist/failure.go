package consist

// Failure is one air element of one vehicle that no longer does what its record says, in
// one of the modes of its kind. It changes the network and no position.
type Failure struct {
	Vehicle int    // index in the consist
	Element string // id of an air element, or of a hose
	Mode    string // one of FailureModes of its kind
}
