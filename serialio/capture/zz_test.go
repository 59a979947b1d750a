package capture
import ("testing";"os";"os/exec";"math/rand/v2";"bytes";"strings")
func TestZZ(t *testing.T){
 r:=rand.New(rand.NewPCG(1,2))
 alph:=[]byte("0123456789abcdefABCDEF  ||>#.x\xff\xff\x02\x00~\x7f\x80")
 bad,n:=0,0
 for i:=0;i<250;i++{
  b:=make([]byte,1+r.IntN(200))
  for j:=range b { if r.IntN(3)==0 {b[j]=byte(r.IntN(256))} else {b[j]=alph[r.IntN(len(alph))]}; if j>0&&r.IntN(4)==0{b[j]=b[j-1]}; if j>=16 && i%3==0 {b[j]=b[j-16]} }
  os.WriteFile("/tmp/z.bin",b,0o644)
  for _,c:=range []string{"xxd","xxd -p","xxd -c 8 -g 1 -u","xxd -c 1","xxd -c 2 -g 1","xxd -c 3","xxd -g 0","xxd -c 256 -g 4","hexdump -C","hexdump -v -C","od -A x -t x1z","od -A n -v -t x1z","od -t x1","od -A d -t x1","od -w24 -t x1","od -w1 -t x1","od -w8 -A d -t x1","od -A x -v -t x1","od -w7 -t x1z"} {
   f:=strings.Fields(c)
   out,err:=exec.Command(f[0],append(f[1:],"/tmp/z.bin")...).Output(); if err!=nil{t.Fatal(c,err)}
   got:=readText(string(out),""); n++
   if got.err!=nil||!bytes.Equal(got.chars,b)||(f[1:]==nil&&got.what!="hex dump with offsets") { bad++; if bad<12 {t.Errorf("%s: %v %s\n%s\ngot % x\nwant % x",c,got.err,got.what,out,got.chars,b)}}
  }
 }
 t.Log(bad,n)
}
