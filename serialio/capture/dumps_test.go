package capture

// sample is the capture that the general tools below printed: request and reply
// of Buerkert, Type 8605 description of communication, p.16; text that reads as
// hex, with blanks and bars; and a run that tools abbreviate.
const sample = "ffff0280010083ffff0680010700003941c80000306630313233343536373839" +
	"61626364656620207c787c203333202020ffffffffffffffffffffffffffffff" +
	"ffffffffffffffffffffffffffffffffffffffffffffffffffffffffffffffff" +
	"ff0280"

// dumps holds what xxd 2022-01-14, hexdump of util-linux 2.38.1 and od of
// coreutils 9.1 print of the sample.
var dumps = map[string]string{
	"xxd": `00000000: ffff 0280 0100 83ff ff06 8001 0700 0039  ...............9
00000010: 41c8 0000 3066 3031 3233 3435 3637 3839  A...0f0123456789
00000020: 6162 6364 6566 2020 7c78 7c20 3333 2020  abcdef  |x| 33  
00000030: 20ff ffff ffff ffff ffff ffff ffff ffff   ...............
00000040: ffff ffff ffff ffff ffff ffff ffff ffff  ................
00000050: ffff ffff ffff ffff ffff ffff ffff ffff  ................
00000060: ff02 80                                  ...
`,
	"xxd -p": `ffff0280010083ffff0680010700003941c8000030663031323334353637
383961626364656620207c787c203333202020ffffffffffffffffffffff
ffffffffffffffffffffffffffffffffffffffffffffffffffffffffffff
ffffffffffffff0280
`,
	"xxd -c 8 -g 1 -u": `00000000: FF FF 02 80 01 00 83 FF  ........
00000008: FF 06 80 01 07 00 00 39  .......9
00000010: 41 C8 00 00 30 66 30 31  A...0f01
00000018: 32 33 34 35 36 37 38 39  23456789
00000020: 61 62 63 64 65 66 20 20  abcdef  
00000028: 7C 78 7C 20 33 33 20 20  |x| 33  
00000030: 20 FF FF FF FF FF FF FF   .......
00000038: FF FF FF FF FF FF FF FF  ........
00000040: FF FF FF FF FF FF FF FF  ........
00000048: FF FF FF FF FF FF FF FF  ........
00000050: FF FF FF FF FF FF FF FF  ........
00000058: FF FF FF FF FF FF FF FF  ........
00000060: FF 02 80                 ...
`,
	"xxd -s 16": `00000010: 41c8 0000 3066 3031 3233 3435 3637 3839  A...0f0123456789
00000020: 6162 6364 6566 2020 7c78 7c20 3333 2020  abcdef  |x| 33  
00000030: 20ff ffff ffff ffff ffff ffff ffff ffff   ...............
00000040: ffff ffff ffff ffff ffff ffff ffff ffff  ................
00000050: ffff ffff ffff ffff ffff ffff ffff ffff  ................
00000060: ff02 80                                  ...
`,
	"hexdump -C": `00000000  ff ff 02 80 01 00 83 ff  ff 06 80 01 07 00 00 39  |...............9|
00000010  41 c8 00 00 30 66 30 31  32 33 34 35 36 37 38 39  |A...0f0123456789|
00000020  61 62 63 64 65 66 20 20  7c 78 7c 20 33 33 20 20  |abcdef  |x| 33  |
00000030  20 ff ff ff ff ff ff ff  ff ff ff ff ff ff ff ff  | ...............|
00000040  ff ff ff ff ff ff ff ff  ff ff ff ff ff ff ff ff  |................|
*
00000060  ff 02 80                                          |...|
00000063
`,
	"hexdump -v -C": `00000000  ff ff 02 80 01 00 83 ff  ff 06 80 01 07 00 00 39  |...............9|
00000010  41 c8 00 00 30 66 30 31  32 33 34 35 36 37 38 39  |A...0f0123456789|
00000020  61 62 63 64 65 66 20 20  7c 78 7c 20 33 33 20 20  |abcdef  |x| 33  |
00000030  20 ff ff ff ff ff ff ff  ff ff ff ff ff ff ff ff  | ...............|
00000040  ff ff ff ff ff ff ff ff  ff ff ff ff ff ff ff ff  |................|
00000050  ff ff ff ff ff ff ff ff  ff ff ff ff ff ff ff ff  |................|
00000060  ff 02 80                                          |...|
00000063
`,
	"od -A x -t x1z": `000000 ff ff 02 80 01 00 83 ff ff 06 80 01 07 00 00 39  >...............9<
000010 41 c8 00 00 30 66 30 31 32 33 34 35 36 37 38 39  >A...0f0123456789<
000020 61 62 63 64 65 66 20 20 7c 78 7c 20 33 33 20 20  >abcdef  |x| 33  <
000030 20 ff ff ff ff ff ff ff ff ff ff ff ff ff ff ff  > ...............<
000040 ff ff ff ff ff ff ff ff ff ff ff ff ff ff ff ff  >................<
*
000060 ff 02 80                                         >...<
000063
`,
	"od -A n -v -t x1z": ` ff ff 02 80 01 00 83 ff ff 06 80 01 07 00 00 39  >...............9<
 41 c8 00 00 30 66 30 31 32 33 34 35 36 37 38 39  >A...0f0123456789<
 61 62 63 64 65 66 20 20 7c 78 7c 20 33 33 20 20  >abcdef  |x| 33  <
 20 ff ff ff ff ff ff ff ff ff ff ff ff ff ff ff  > ...............<
 ff ff ff ff ff ff ff ff ff ff ff ff ff ff ff ff  >................<
 ff ff ff ff ff ff ff ff ff ff ff ff ff ff ff ff  >................<
 ff 02 80                                         >...<
`,
	"od -t x1": `0000000 ff ff 02 80 01 00 83 ff ff 06 80 01 07 00 00 39
0000020 41 c8 00 00 30 66 30 31 32 33 34 35 36 37 38 39
0000040 61 62 63 64 65 66 20 20 7c 78 7c 20 33 33 20 20
0000060 20 ff ff ff ff ff ff ff ff ff ff ff ff ff ff ff
0000100 ff ff ff ff ff ff ff ff ff ff ff ff ff ff ff ff
*
0000140 ff 02 80
0000143
`,
	"od -A d -t x1": `0000000 ff ff 02 80 01 00 83 ff ff 06 80 01 07 00 00 39
0000016 41 c8 00 00 30 66 30 31 32 33 34 35 36 37 38 39
0000032 61 62 63 64 65 66 20 20 7c 78 7c 20 33 33 20 20
0000048 20 ff ff ff ff ff ff ff ff ff ff ff ff ff ff ff
0000064 ff ff ff ff ff ff ff ff ff ff ff ff ff ff ff ff
*
0000096 ff 02 80
0000099
`,
	"od -w24 -t x1": `0000000 ff ff 02 80 01 00 83 ff ff 06 80 01 07 00 00 39 41 c8 00 00 30 66 30 31
0000030 32 33 34 35 36 37 38 39 61 62 63 64 65 66 20 20 7c 78 7c 20 33 33 20 20
0000060 20 ff ff ff ff ff ff ff ff ff ff ff ff ff ff ff ff ff ff ff ff ff ff ff
0000110 ff ff ff ff ff ff ff ff ff ff ff ff ff ff ff ff ff ff ff ff ff ff ff ff
0000140 ff 02 80
0000143
`,
	"od -A x -v -t x1": `000000 ff ff 02 80 01 00 83 ff ff 06 80 01 07 00 00 39
000010 41 c8 00 00 30 66 30 31 32 33 34 35 36 37 38 39
000020 61 62 63 64 65 66 20 20 7c 78 7c 20 33 33 20 20
000030 20 ff ff ff ff ff ff ff ff ff ff ff ff ff ff ff
000040 ff ff ff ff ff ff ff ff ff ff ff ff ff ff ff ff
000050 ff ff ff ff ff ff ff ff ff ff ff ff ff ff ff ff
000060 ff 02 80
000063
`,
}

// words is of the same tools; whether ffff or 02ff comes first on the wire cannot be told.
var words = map[string]string{
	"hexdump": `0000000 ffff 8002 0001 ff83 06ff 0180 0007 3900
0000010 c841 0000 6630 3130 3332 3534 3736 3938
0000020 6261 6463 6665 2020 787c 207c 3333 2020
0000030 ff20 ffff ffff ffff ffff ffff ffff ffff
0000040 ffff ffff ffff ffff ffff ffff ffff ffff
*
0000060 02ff 0080                              
0000063
`,
	"od -t x2": `0000000 ffff 8002 0001 ff83 06ff 0180 0007 3900
0000020 c841 0000 6630 3130 3332 3534 3736 3938
0000040 6261 6463 6665 2020 787c 207c 3333 2020
0000060 ff20 ffff ffff ffff ffff ffff ffff ffff
0000100 ffff ffff ffff ffff ffff ffff ffff ffff
*
0000140 02ff 0080
0000143
`,
	"od -A x -t x4": `000000 8002ffff ff830001 018006ff 39000007
000010 0000c841 31306630 35343332 39383736
000020 64636261 20206665 207c787c 20203333
000030 ffffff20 ffffffff ffffffff ffffffff
000040 ffffffff ffffffff ffffffff ffffffff
*
000060 008002ff
000063
`,
}
