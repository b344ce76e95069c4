package move_test
import ("testing";"fmt";"fieldfare/plan/move";"pgregory.net/rapid";"time")
func TestDbg(t *testing.T){
 ok:=0; n:=0
 var worst time.Duration
 rapid.Check(t, func(t *rapid.T) {
   p:=valley(anyShot(t)); n++
   t0:=time.Now()
   s,err:=move.Solve(p)
   d:=time.Since(t0)
   if d>worst { worst=d; fmt.Println("slow",d,err) ; if s!=nil {fmt.Println(s.Path.DurationS(), s.Steps)}}
   if err==nil {ok++} else { fmt.Println(err) }
 })
 fmt.Println(ok,n,worst)
}
