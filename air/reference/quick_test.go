package reference
import ("testing";"os";"time";"fmt";"math")
func TestQuick(t *testing.T){
 f,_:=os.Open("testdata/pipe_cases.json")
 cs,err:=Read(f,"x"); if err!=nil{t.Fatal(err)}
 for _,c:=range cs{
  var names []string
  for _,e:=range c.Expected{names=append(names,e.Name)}
  cells:=4
  if c.Spec.Vehicles==3 {cells=16}
  for g:=0;g<2;g++{
  t0:=time.Now()
  o,err:=Run(c.Spec,cells,names)
  fmt.Println("====",c.ID,cells,o.Steps,o.Audit,err,time.Since(t0))
  for i,e:=range c.Expected{ if err==nil&&math.Abs(o.Figures[i].Value-e.Value)>0{fmt.Printf("  %s %.6f want %.6f diff %.6f\n",e.Name,o.Figures[i].Value,e.Value,o.Figures[i].Value-e.Value)}}
  cells*=2
  if c.ID=="R04"||testing.Short(){break}
 }}
}
