"""Prints the packets of a pcapng file as scapy reads them: link type, nanoseconds since
1970, event, control lines and characters."""
import sys
import logging

logging.disable(logging.CRITICAL)  # it has no use for comments that are one line
from scapy.utils import RawPcapNgReader

for data, about in RawPcapNgReader(sys.argv[1]):
    ticks = about.tshigh << 32 | about.tslow
    assert about.tsresol == 10**9 and about.wirelen == len(data)
    print(about.linktype, ticks, data[8], data[9], data[12:].hex())
