package fleet

import (
	"fmt"
	"os"
	"testing"
)

func TestTry(t *testing.T) {
	f, cs := Read(os.DirFS("../demo/railway"))
	for _, c := range cs {
		fmt.Println(c)
	}
	for _, c := range f.Classes {
		fmt.Println(c.Name, len(c.Devices), len(c.Air), len(c.Roles))
	}
	fmt.Println(len(f.Units))
}
